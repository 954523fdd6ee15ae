import type { AddCommand } from './command.js';
import { addImportKinds } from './import-kind.js';
import { addImportSamples } from './import-samples.js';

/** `drivebook import`: reads a file into the record. */
export const addImport: AddCommand = (program, finish) => {
  const command = program
    .command('import')
    .description('read a table of strokes or of any other kind of record, or the file of a machine logger');
  addImportSamples(command, finish);
  addImportKinds(command, finish);
};
