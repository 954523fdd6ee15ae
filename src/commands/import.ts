import { type AddCommand, notes } from './command.js';
import { addImportKinds } from './import-kind.js';
import { addImportSamples } from './import-samples.js';

const NOTES = `Examples:
  drivebook import strokes strokes.csv --project TRIAL --drive N --map map.json --dry-run
  drivebook import samples samples.csv --project TRIAL --drive N --map map.json

Add --help after a kind for its options.`;

/** `drivebook import`: reads a file into the record. */
export const addImport: AddCommand = (program, finish) => {
  const command = program
    .command('import')
    .description('read a table of strokes or of any other kind of record, or the file of a machine logger');
  addImportSamples(command, finish);
  addImportKinds(command, finish);
  notes(command, NOTES);
};
