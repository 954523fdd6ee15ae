import type { Transaction } from '../../common/database/database.js';
import { metresText } from '../../engineering/chainage.js';
import type { BoringMachine, BoringValues } from '../../engineering/stroke-values.js';
import { BORING } from './boring-columns.js';
import type { ImportContext } from './import-context.js';
import type { ImportPlan } from './import-plan.js';
import type { ImportRow, StrokeValues } from './import-rows.js';
import { valuesOf } from './stroke-values.service.js';

const REMOVE = `delete from boring where drive_id = $1 and shift_id is null and id = any($2::int[])`;

const CREATE = `insert into boring (drive_id, ${BORING.names})
  select $1, ${BORING.values} from jsonb_to_recordset($2::jsonb) as r(${BORING.record}) order by r."fromM"`;

export type ValuedStroke = StrokeValues & BoringValues;

/** The strokes to create with their computed values. */
export const valuedStrokes = (rows: ImportRow[], machine: BoringMachine | null): ValuedStroke[] =>
  rows.flatMap(({ stroke, outcome, faults }) =>
    stroke && outcome === 'created' && faults.length === 0
      ? [{ ...stroke, ...valuesOf(stroke, machine) }]
      : [],
  );

const instant = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());

/** Writes a plan without faults: one statement for what leaves, one for what comes; none for nothing. */
export const storeImport = async (
  transaction: Transaction,
  { driveId }: ImportContext,
  { leaving }: ImportPlan,
  strokes: ValuedStroke[],
): Promise<void> => {
  const ids = leaving.map(({ id }) => id);
  if (ids.length > 0) await transaction.$executeRawUnsafe(REMOVE, driveId, ids);
  if (strokes.length === 0) return;
  const rows = strokes.map((stroke) => ({
    ...stroke,
    strokeNumber: stroke.number,
    fromM: metresText(stroke.fromMm),
    toM: metresText(stroke.toMm),
    startedAt: instant(stroke.startedAt),
    endedAt: instant(stroke.endedAt),
  }));
  await transaction.$executeRawUnsafe(CREATE, driveId, JSON.stringify(rows));
};
