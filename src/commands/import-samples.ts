import { createReadStream } from 'node:fs';
import { once } from 'node:events';
import type { Command } from 'commander';
import { Measures } from '../common/metrics/measures.js';
import { DriveReader } from '../common/database/drive-reader.service.js';
import type { SampleUploadReport } from '../features/driving/samples/sample.models.js';
import { SampleStore } from '../features/driving/samples/sample-store.js';
import { type SampleTable, SampleUploadService } from '../features/driving/samples/sample-upload.service.js';
import { type AddCommand, fileThatExists, notes, ON_DATABASE, onDrive, print, withJson } from './command.js';
import { readMap } from './import-map-file.js';
import { onRecord } from './on-record.js';

interface Options {
  project: string;
  drive: string;
  map?: string;
  delimiter?: string;
  json?: boolean;
}

const FIELDS = `The fields: at, with its offset (2027-03-01T06:00:00+01:00); chainage, or positionM (metres driven from
the start of the drive); optional thrustKn, torqueKnm, rotationRpm, penetrationRateMmPerMin,
gripperPressureBar, muckFlowTPerH. In a table a reading in another unit has a factor. The column names
are examples; use those of your table's heading row:

  {
    "at": "Time",
    "positionM": "Position [m]",
    "thrustKn": { "column": "Thrust [MN]", "factor": 1000 },
    "penetrationRateMmPerMin": "Speed [mm/min]"
  }

Examples:
  drivebook import samples samples.csv --project TRIAL --drive N --map map.json

${ON_DATABASE}`;

const inWords = ({ taken, known, rejected, from, to, rejections }: SampleUploadReport): string => {
  const reported = rejections.map(({ line, detail }) => `line ${line}  rejected  ${detail}`);
  if (rejected > reported.length) reported.push(`… and ${rejected - reported.length} more rejected`);
  const rows = taken + known + rejected;
  return (
    [
      ...reported,
      `${rows} ${rows === 1 ? 'sample' : 'samples'}: ${taken} taken, ${known} there already, ${rejected} rejected; from ${from} to ${to}.`,
    ].join('\n') + '\n'
  );
};

const take = async (file: string, { project, drive, map, delimiter, json }: Options): Promise<number> => {
  const table: SampleTable | undefined = map === undefined ? undefined : { map: readMap(map), delimiter };
  const stream = createReadStream(fileThatExists(file));
  await once(stream, 'open'); // a file that cannot be read is reported before anything is started
  return onRecord(project, async (database) => {
    const service = new SampleUploadService(
      new DriveReader(database),
      new SampleStore(database),
      new Measures(),
    );
    const report = await service.takeFile(drive, stream, table);
    print(report, json, () => inWords(report));
    return report.rejected > 0 ? 1 : 0;
  }).finally(() => stream.destroy());
};

/** `drivebook import samples FILE`: reads what a machine's logger wrote. */
export const addImportSamples: AddCommand = (program, finish) => {
  const command = program
    .command('samples')
    .summary("read a machine logger's file")
    .description(
      "Reads a machine logger's file of any size: CSV in UTF-8, a heading row, then one row per sample; or, without a map, JSON lines. Bad rows are reported and the others stored. It may be sent again: samples already recorded are left as they are.",
    )
    .argument('<file>', "the logger's file");
  onDrive(command)
    .option('--map <map>', 'of a table: JSON, or a file that holds it: the column of each field')
    .option('--delimiter <c>', 'column separator: comma (default), semicolon, tab, pipe, or the character');
  withJson(command).action(async (file: string, options: Options, self: Command) => {
    if (options.map === undefined && options.delimiter !== undefined)
      self.error('error: --delimiter needs --map: JSON lines have no columns.');
    finish(await take(file, options));
  });
  notes(command, FIELDS);
};
