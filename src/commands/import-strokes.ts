import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { Workers } from '../common/work/workers.js';
import type { StrokeImportReport } from '../features/strokes/import-report.model.js';
import {
  ImportRefused,
  type ImportOptions,
  StrokeImportService,
} from '../features/strokes/stroke-import.service.js';
import { command } from './command.js';
import { readMap } from './import-map-file.js';
import { onRecord } from './on-record.js';

const USAGE = `drivebook import strokes FILE.csv --project P --drive D --map MAP [options]

Reads a table of strokes: CSV in UTF-8, a heading row, then a row a stroke. The table is taken whole or refused, and
may be sent again: strokes that stand as it has them are left alone. The strokes stand on the drive without a shift.

  --project P        code of the project
  --drive D          code of the drive
  --map MAP          JSON, or a file that holds it: the column of each field
  --dry-run          report only; nothing is written
  --close-gaps M     move the end of a stroke to the next start when the gap is at most M, to 0.100 [m]
  --replace          take the place of all strokes imported before; never of strokes posted with shifts
  --delimiter C      what separates the columns: comma (as it is without), semicolon, tab or pipe, or the character

The fields of MAP: number; fromChainage or fromM; toChainage or toM (fromM and toM: metres driven from the start of
the drive); optional startedAt and endedAt (2027-03-01T06:00:00+01:00), thrustKn, torqueKnm, rotationRpm,
penetrationMmPerRev, gripperPressureBar, muckMassT. A reading in another unit has a factor. The
column names are examples; yours are those of your table's heading row:

  {
    "number": "Stroke number [-]",
    "fromM": "tunnellength stroke start [m]",
    "toM": "tunnellength stroke end [m]",
    "penetrationMmPerRev": "Penetration [mm/rot] mean",
    "thrustKn": "Total advance force [kN] mean",
    "torqueKnm": { "column": "Torque cutterhead [MNm] mean", "factor": 1000 },
    "rotationRpm": "rotations [rpm] mean"
  }

It writes to the database of DATABASE_URL, or to the embedded one of DATA_DIR. While the service runs on the embedded
one, send the table to the service instead: POST /v1/projects/P/drives/D/strokes/import, multipart/form-data.

Exit status: 0 taken (or a dry run without rejected rows), 1 refused, 2 not understood.
`;

const OPTIONS = {
  project: { type: 'string' },
  drive: { type: 'string' },
  map: { type: 'string' },
  'dry-run': { type: 'boolean' },
  'close-gaps': { type: 'string' },
  replace: { type: 'boolean' },
  delimiter: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

interface Request {
  file: string;
  project: string;
  drive: string;
  options: ImportOptions;
}

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Request | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  if (values.help) return undefined;
  const [file, ...more] = positionals;
  if (file === undefined) throw new Error('Name the file of the table.');
  if (more.length > 0) throw new Error(`One table at a time: "${more.join(' ')}" is too much.`);
  const { project, drive, map } = values;
  if (!project || !drive || !map) throw new Error('--project, --drive and --map are needed.');
  const options = {
    map,
    dryRun: values['dry-run'],
    closeGaps: values['close-gaps'],
    replace: values.replace,
    delimiter: values.delimiter,
  };
  return { file, project, drive, options };
};

const inWords = ({
  rows,
  created,
  unchanged,
  rejected,
  removed,
  metres,
  dryRun,
}: StrokeImportReport): string => {
  const told = rows
    .filter(({ detail }) => detail !== undefined)
    .map(
      ({ line, number, outcome, detail }) => `line ${line}  stroke ${number ?? '?'}  ${outcome}  ${detail}`,
    );
  const left = removed > 0 ? `, ${removed} imported before removed` : '';
  const summary = `${rows.length} ${rows.length === 1 ? 'stroke' : 'strokes'}: ${created} created, ${unchanged} unchanged, ${rejected} rejected${left}; ${metres} m.`;
  const taken =
    rejected > 0 ? 'Refused: nothing was written.' : dryRun ? 'Dry run: nothing was written.' : undefined;
  return [...told, summary, taken].filter((line) => line !== undefined).join('\n') + '\n';
};

const take = ({ file, project, drive, options }: Request): Promise<number> => {
  const table = readFileSync(file);
  const map = readMap(options.map);
  return onRecord(
    project,
    async (database) => {
      const workers = new Workers();
      try {
        const service = new StrokeImportService(database, workers);
        const report = (await service.take(drive, table, { ...options, map })).value();
        process.stdout.write(inWords(report));
        return report.rejected > 0 ? 1 : 0;
      } finally {
        await workers.close();
      }
    },
    (problem) => (problem instanceof ImportRefused ? inWords(problem.report.value()) : undefined),
  );
};

/** `drivebook import strokes FILE`: reads a table of strokes onto a drive. */
export const importStrokes = command(USAGE, understood, take);
