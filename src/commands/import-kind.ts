import { isOfDrive, KINDS, type KindDeclaration } from '../features/site/imports/kinds.js';
import { MOST_WHOLE_ROWS } from '../features/site/imports/limits.js';
import { type AddCommand, fileThatExists, notes, ON_DATABASE, toBeWritten, withJson } from './command.js';
import { withTableOptions } from './table-options.js';
import type { ImportCommandOptions } from './take-table.js';

const helpOf = (declared: KindDeclaration): string => {
  const { kind } = declared;
  const place = isOfDrive(declared) ? '--project TRIAL --drive N' : '--project TRIAL';
  return `Headings are the names of fields, with or without their unit; --map names others. The fields, with units
and codes, are in the template: GET /v1/projects/{project}/import-kinds/${kind}/template.xlsx

Examples:
  drivebook import ${kind} ${kind}.xlsx ${place} --dry-run
  drivebook import ${kind} ${kind}.csv ${place} --delimiter semicolon --decimal comma

${ON_DATABASE}`;
};

const addKind = (declared: KindDeclaration, ...[program, finish]: Parameters<AddCommand>): void => {
  const { kind, rows } = declared;
  const command = program
    .command(kind)
    .summary(`read a table of ${rows}`)
    .description(
      `Reads a table of ${rows}, CSV or a workbook (.xlsx). The table is imported as a whole or refused. It may be sent again: records that already match it are left alone. A table of more than ${MOST_WHOLE_ROWS} rows needs --valid-rows, which writes some records at a time.`,
    )
    .argument('<file>', 'the table', fileThatExists)
    .requiredOption('--project <code>', 'code of the project');
  if (isOfDrive(declared)) command.requiredOption('--drive <code>', 'code of the drive');
  command
    .option('--map <map>', 'JSON, or a file that holds it: the column of each field')
    .option('--dry-run', 'report only; nothing is written')
    .option('--valid-rows', 'write the records without faults, though others are rejected')
    .option('--report <csv>', 'write what became of each row to a new file', toBeWritten('--report'));
  if (declared.put === undefined)
    command
      .option(
        '--close-gaps <m>',
        'move the end of a stroke to the start of the next when the gap is at most this, up to 0.100 [m]',
      )
      .option('--replace', 'replace all strokes imported before; never strokes posted with shifts');
  else if (declared.members?.key !== undefined)
    command.option('--replace', `remove the ${rows} that the table lacks`);
  withJson(withTableOptions(command)).action(async (file: string, options: ImportCommandOptions) => {
    const { takeTable } = await import('./take-table.js'); // loads the whole service
    finish(await takeTable(kind, file, options));
  });
  notes(command, helpOf(declared));
};

/** `drivebook import KIND FILE`: reads a table of any kind of record. */
export const addImportKinds: AddCommand = (program, finish) => {
  for (const kind of KINDS) addKind(kind, program, finish);
};
