import type { Transaction } from '../../common/database/database.js';
import { metresText } from '../../engineering/chainage.js';
import type { BoringMachine, BoringValues } from '../../engineering/stroke-values.js';
import type { ImportContext } from './import-context.js';
import type { ImportPlan } from './import-plan.js';
import type { ImportRow, StrokeValues } from './import-rows.js';
import { valuesOf } from './stroke-values.service.js';

const REMOVE = `delete from boring where drive_id = $1 and shift_id is null and id = any($2::int[])`;

const CREATE = `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at, thrust_kn, torque_knm, rotation_rpm,
    penetration_mm_per_rev, gripper_pressure_bar, muck_mass_t, penetration_rate_m_per_h, thrust_per_disc_kn, field_penetration_index,
    specific_energy_mj_per_m3, theoretical_torque_knm, torque_ratio, regular_advance, power_kw, torque_penetration_index)
  select $1, r.number, r."fromM", r."toM", r."startedAt", r."endedAt", r."thrustKn", r."torqueKnm", r."rotationRpm",
    r."penetrationMmPerRev", r."gripperPressureBar", r."muckMassT", r."penetrationRateMPerH", r."thrustPerDiscKn", r."fieldPenetrationIndex",
    r."specificEnergyMjPerM3", r."theoreticalTorqueKnm", r."torqueRatio", r."regularAdvance", r."powerKw", r."torquePenetrationIndex"
  from jsonb_to_recordset($2::jsonb) as r(number int, "fromM" numeric, "toM" numeric, "startedAt" timestamptz, "endedAt" timestamptz,
    "thrustKn" float8, "torqueKnm" float8, "rotationRpm" float8, "penetrationMmPerRev" float8, "gripperPressureBar" float8,
    "muckMassT" numeric, "penetrationRateMPerH" float8, "thrustPerDiscKn" float8, "fieldPenetrationIndex" float8,
    "specificEnergyMjPerM3" float8, "theoreticalTorqueKnm" float8, "torqueRatio" float8, "regularAdvance" boolean,
    "powerKw" float8, "torquePenetrationIndex" float8)
  order by r."fromM"`;

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
    fromM: metresText(stroke.fromMm),
    toM: metresText(stroke.toMm),
    startedAt: instant(stroke.startedAt),
    endedAt: instant(stroke.endedAt),
  }));
  await transaction.$executeRawUnsafe(CREATE, driveId, JSON.stringify(rows));
};
