import path from 'node:path';
import type { Command } from 'commander';
import type { Database } from '../common/database/database.js';
import { DriveReader } from '../common/database/drive-reader.service.js';
import { Workers } from '../common/work/workers.js';
import { RecordService } from '../features/outputs/record/record.service.js';
import type { StripQuery } from '../features/outputs/strip/strip.models.js';
import { SCALES } from '../features/outputs/strip/strip.models.js';
import { Strips } from '../features/outputs/strip/strip.service.js';
import { TABLE_KEYS } from '../features/outputs/strip/tables.js';
import { TRACK_NAMES } from '../features/outputs/strip/tracks/tracks.js';
import type { OverJudgement } from '../features/support/missing-support/judgement-keeper.service.js';
import {
  checked,
  type Finish,
  notes,
  ON_DATABASE,
  onDrive,
  print,
  toBeWritten,
  withJson,
} from './command.js';
import { onRecord } from './on-record.js';
import { writeNew } from './write-new.js';

interface Options extends StripQuery {
  project: string;
  drive: string;
  table?: string;
  json?: boolean;
}

/** Progress, on a terminal only. */
const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`${text}\n`);
};

/** Reads cached assessments; a command does not add to the cache. */
const over: OverJudgement = (_, judged, read) => read(judged);

const recordOf = async (
  database: Database,
  drive: string,
  { from, to }: { from: string; to: string },
): Promise<string> => {
  progress(`Reading ${from} to ${to} …`);
  const record = await new RecordService(new DriveReader(database), { over }).asBuilt(drive, { from, to });
  return `${JSON.stringify(record, null, 2)}\n`;
};

const drawn = async (
  database: Database,
  form: string,
  drive: string,
  table: string | undefined,
  query: StripQuery,
): Promise<string | Buffer> => {
  const workers = new Workers();
  try {
    const strips = new Strips(new DriveReader(database), workers, over, progress);
    const { from, to } = query;
    const undrawn =
      form === '.pdf'
        ? await strips.pdf(drive, query)
        : form === '.svg'
          ? await strips.svg(drive, query)
          : table === undefined
            ? await strips.xlsx(drive, { from, to })
            : await strips.csv(drive, { from, to, table });
    return await undrawn.draw();
  } finally {
    await workers.close();
  }
};

const write = (file: string, { project, drive, json, table, ...query }: Options): Promise<number> =>
  onRecord(project, async (database) => {
    const { from, to } = query;
    const form = path.extname(file).toLowerCase();
    const content =
      form === '.json'
        ? await recordOf(database, drive, query)
        : await drawn(database, form, drive, table, query);
    if (!(await writeNew(file, content))) return 1;
    const bytes = Buffer.byteLength(content);
    print(
      { file, from, to, bytes },
      json,
      () => `${file}: as-built record of drive ${drive}, ${from} to ${to}, ${bytes} bytes.`,
    );
    return 0;
  });

const NOTES = `Examples:
  drivebook report as-built strip.pdf --project TRIAL --drive N --from 1+200 --to 1+700
  drivebook report as-built ground.svg --project TRIAL --drive N --from 1+200 --to 1+300 --scale 1:200 --tracks lithology,class,q
  drivebook report as-built tables.xlsx --project TRIAL --drive N --from 1+200 --to 1+700
  drivebook report as-built support.csv --project TRIAL --drive N --from 1+200 --to 1+700 --table support
  drivebook report as-built record.json --project TRIAL --drive N --from 1+200 --to 1+700

Tracks: ${TRACK_NAMES.join(', ')}.
Tables: ${TABLE_KEYS.join(', ')}.
The service answers the same: GET /v1/projects/P/drives/D/as-built for the record as JSON, and below it strip.pdf, strip.svg, tables.xlsx and tables.csv.
${ON_DATABASE}`;

/** `drivebook report as-built FILE`: writes the as-built record of an interval as PDF, SVG, XLSX, CSV or JSON. */
export const addReportAsBuilt = (report: Command, finish: Finish): void => {
  const scales = SCALES.map((each) => `1:${each}`);
  const command = report
    .command('as-built')
    .summary('write the as-built record of an interval')
    .description(
      'Writes the as-built record of an interval to a new file. The extension sets the format: PDF with strip and tables, SVG with the strip as one long sheet, XLSX with the tables, CSV with one of them, JSON with the record as the service answers it.',
    )
    .argument(
      '<file>',
      'the file to write, .pdf, .svg, .xlsx, .csv or .json',
      toBeWritten('<file>', '.pdf', '.svg', '.xlsx', '.csv', '.json'),
    );
  withJson(onDrive(command))
    .requiredOption('--from <chainage>', 'one end of the interval')
    .requiredOption('--to <chainage>', 'the other end')
    .option(
      '--scale <1:n>',
      'scale along the axis (default: the largest at which the interval fits on six sheets)',
      checked((text) => (scales.includes(text) ? undefined : `must be one of ${scales.join(', ')}`)),
    )
    .option('--tracks <names>', 'tracks from top to bottom, separated by commas (default: all)')
    .option(
      '--table <name>',
      'the table that a CSV file has',
      checked((name) => (TABLE_KEYS.includes(name) ? undefined : `must be one of ${TABLE_KEYS.join(', ')}`)),
    )
    .action(async (file: string, options: Options) => {
      if (/\.csv$/i.test(file) !== (options.table !== undefined))
        command.error('error: --table goes with a CSV file, and a CSV file with --table');
      if (!/\.(pdf|svg)$/i.test(file) && (options.scale ?? options.tracks) !== undefined)
        command.error('error: --scale and --tracks go with a PDF or SVG file: the other forms have no strip');
      finish(await write(file, options));
    });
  notes(command, NOTES);
};
