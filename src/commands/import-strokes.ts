import { readFileSync } from 'node:fs';
import { Workers } from '../common/work/workers.js';
import type { StrokeImportReport } from '../features/driving/strokes/import-report.model.js';
import { ImportRefused, StrokeImportService } from '../features/driving/strokes/stroke-import.service.js';
import type { DeclaredTableForm } from '../common/files/table/form.model.js';
import { type AddCommand, notes, ON_DATABASE, onDrive, print, withJson } from './command.js';
import { readMap } from './import-map-file.js';
import { onRecord } from './on-record.js';
import { withTableOptions } from './table-options.js';

interface Options extends DeclaredTableForm {
  project: string;
  drive: string;
  map: string;
  dryRun?: boolean;
  closeGaps?: string;
  replace?: boolean;
  json?: boolean;
}

const FIELDS = `The fields of the map: number; fromChainage or fromM; toChainage or toM (fromM and toM: metres driven from
the start of the drive); optional startedAt and endedAt (2027-03-01T06:00:00+01:00), thrustKn,
torqueKnm, rotationRpm, penetrationMmPerRev, gripperPressureBar, muckMassT. A reading in another unit
has a factor. The column names are examples; use those of your table's heading row:

  {
    "number": "Stroke number [-]",
    "fromM": "tunnellength stroke start [m]",
    "toM": "tunnellength stroke end [m]",
    "penetrationMmPerRev": "Penetration [mm/rot] mean",
    "thrustKn": "Total advance force [kN] mean",
    "torqueKnm": { "column": "Torque cutterhead [MNm] mean", "factor": 1000 },
    "rotationRpm": "rotations [rpm] mean"
  }

Example:
  drivebook import strokes strokes.csv --project TRIAL --drive N --map map.json --dry-run

${ON_DATABASE}`;

const inWords = ({
  rows,
  created,
  unchanged,
  rejected,
  removed,
  metres,
  dryRun,
}: StrokeImportReport): string => {
  const reported = rows
    .filter(({ detail }) => detail !== undefined)
    .map(
      ({ line, number, outcome, detail }) => `line ${line}  stroke ${number ?? '?'}  ${outcome}  ${detail}`,
    );
  const left = removed > 0 ? `, ${removed} imported before removed` : '';
  const summary = `${rows.length} ${rows.length === 1 ? 'stroke' : 'strokes'}: ${created} created, ${unchanged} unchanged, ${rejected} rejected${left}; ${metres} m.`;
  const taken =
    rejected > 0 ? 'Refused: nothing was written.' : dryRun ? 'Dry run: nothing was written.' : undefined;
  return [...reported, summary, taken].filter((line) => line !== undefined).join('\n') + '\n';
};

const take = (file: string, { project, drive, map, json, ...options }: Options): Promise<number> => {
  const table = readFileSync(file);
  const read = readMap(map);
  return onRecord(
    project,
    async (database) => {
      const workers = new Workers();
      try {
        const service = new StrokeImportService(database, workers);
        const report = (await service.take(drive, table, { ...options, map: read })).value();
        print(report, json, () => inWords(report));
        return report.rejected > 0 ? 1 : 0;
      } finally {
        await workers.close();
      }
    },
    (problem) => {
      if (!(problem instanceof ImportRefused)) return undefined;
      const report = problem.report.value();
      return json ? `${JSON.stringify(report)}\n` : inWords(report);
    },
  );
};

/** `drivebook import strokes FILE`: reads a table of strokes onto a drive. */
export const addImportStrokes: AddCommand = (program, finish) => {
  const command = program
    .command('strokes')
    .summary('read a stroke table')
    .description(
      'Reads a table of strokes: CSV or a workbook (.xlsx), a heading row, then one row per stroke. The table is imported as a whole or refused. It may be sent again: strokes that already match it are left alone. The strokes belong to the drive, not to a shift.',
    )
    .argument('<file>', 'the table');
  onDrive(command)
    .requiredOption('--map <map>', 'JSON, or a file that holds it: the column of each field')
    .option('--dry-run', 'report only; nothing is written')
    .option(
      '--close-gaps <m>',
      'move the end of a stroke to the start of the next when the gap is at most this, up to 0.100 [m]',
    )
    .option('--replace', 'replace all strokes imported before; never strokes posted with shifts');
  withJson(withTableOptions(command)).action(async (file: string, options: Options) =>
    finish(await take(file, options)),
  );
  notes(command, FIELDS);
};
