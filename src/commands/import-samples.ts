import { createReadStream } from 'node:fs';
import { once } from 'node:events';
import { parseArgs } from 'node:util';
import { Measures } from '../common/metrics/measures.js';
import { DriveReader } from '../common/database/drive-reader.service.js';
import type { SampleUploadReport } from '../features/samples/sample.models.js';
import { SampleStore } from '../features/samples/sample-store.js';
import { type SampleTable, SampleUploadService } from '../features/samples/sample-upload.service.js';
import { command } from './command.js';
import { readMap } from './import-map-file.js';
import { onRecord } from './on-record.js';

const USAGE = `drivebook import samples FILE --project P --drive D [--map MAP] [--delimiter C]

Reads what a machine's logger wrote, of any size: CSV in UTF-8, a heading row, then a row a sample; or without a map, lines
of JSON. Bad rows are told and the others taken. It may be sent again: a sample that stands is left as it is.

  --project P        code of the project
  --drive D          code of the drive
  --map MAP          of a table: JSON, or a file that holds it: the column of each field
  --delimiter C      what separates its columns: comma (as it is without), semicolon, tab or pipe, or the character

The fields: at, with its offset (2027-03-01T06:00:00+01:00); chainage, or positionM (metres driven from the start of the
drive); optional thrustKn, torqueKnm, rotationRpm, penetrationRateMmPerMin, gripperPressureBar, muckFlowTPerH. In a table a
reading in another unit has a factor. The column names are examples; yours are those of your table's heading row:

  {
    "at": "Time",
    "positionM": "Position [m]",
    "thrustKn": { "column": "Thrust [MN]", "factor": 1000 },
    "penetrationRateMmPerMin": "Speed [mm/min]"
  }

It writes to the database of DATABASE_URL, or to the embedded one of DATA_DIR. While the service runs on the embedded
one, send the file to the service instead: POST /v1/projects/P/drives/D/samples.

Exit status: 0 all taken or there already, 1 rows rejected or the file refused, 2 not understood.
`;

const OPTIONS = {
  project: { type: 'string' },
  drive: { type: 'string' },
  map: { type: 'string' },
  delimiter: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

interface Request {
  file: string;
  project: string;
  drive: string;
  table?: SampleTable;
}

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Request | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  if (values.help) return undefined;
  const [file, ...more] = positionals;
  if (file === undefined) throw new Error('Name the file of the samples.');
  if (more.length > 0) throw new Error(`One file at a time: "${more.join(' ')}" is too much.`);
  const { project, drive, map, delimiter } = values;
  if (!project || !drive) throw new Error('--project and --drive are needed.');
  if (map === undefined && delimiter !== undefined)
    throw new Error('--delimiter goes with --map: lines of JSON have none.');
  return { file, project, drive, table: map === undefined ? undefined : { map, delimiter } };
};

const inWords = ({ taken, known, rejected, from, to, rejections }: SampleUploadReport): string => {
  const told = rejections.map(({ line, detail }) => `line ${line}  rejected  ${detail}`);
  if (rejected > told.length) told.push(`… and ${rejected - told.length} more rejected`);
  const rows = taken + known + rejected;
  return (
    [
      ...told,
      `${rows} ${rows === 1 ? 'sample' : 'samples'}: ${taken} taken, ${known} there already, ${rejected} rejected; from ${from} to ${to}.`,
    ].join('\n') + '\n'
  );
};

const take = async ({ file, project, drive, table }: Request): Promise<number> => {
  const read = table && { ...table, map: readMap(table.map) };
  const stream = createReadStream(file);
  await once(stream, 'open'); // a file that is not there is told before anything is started
  return onRecord(project, async (database) => {
    const service = new SampleUploadService(
      new DriveReader(database),
      new SampleStore(database),
      new Measures(),
    );
    const report = await service.takeFile(drive, stream, read);
    process.stdout.write(inWords(report));
    return report.rejected > 0 ? 1 : 0;
  }).finally(() => stream.destroy());
};

/** `drivebook import samples FILE`: reads what a machine's logger wrote. */
export const importSamples = command(USAGE, understood, take);
