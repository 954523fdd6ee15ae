import { notFound } from '../../../common/api/problem.js';
import { readRows, type Transaction } from '../../../common/database/database.js';
import { lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { type ImportContext, readContext } from './read-context.js';

/** As text: there may be many strokes, and another thread parses it to validate a table. */
const CONTEXT = `select json_build_object('startMm', (d.start_chainage_m * 1000)::int8,
  'lengthMm', (drive_length(d.start_chainage_m, d.end_chainage_m) * 1000)::int8, 'direction', d.direction, 'timeZone', p.time_zone,
  'machines', (select coalesce(json_agg(json_build_object('discCount', m.disc_count, 'discRadiusMm', m.disc_radius_mm,
    'boredDiameterM', d.bored_diameter_m, 'frictionKn', m.friction_kn, 'idleTorqueKnm', m.idle_torque_knm,
    'torqueRatioLower', m.torque_ratio_lower, 'torqueRatioUpper', m.torque_ratio_upper,
    'validFrom', case when isfinite(m.valid_from) then production_day_start(m.valid_from, p.time_zone, p.day_start) end)
    order by m.valid_from), '[]') from machine_data m where m.machine_id = d.machine_id),
  'standing', (select coalesce(json_agg(json_build_object('id', b.id, 'number', b.stroke_number, 'fromMm', (b.from_m * 1000)::int8,
    'toMm', (b.to_m * 1000)::int8, 'startedAt', b.started_at, 'endedAt', b.ended_at, 'thrustKn', b.thrust_kn,
    'torqueKnm', b.torque_knm, 'rotationRpm', b.rotation_rpm, 'penetrationMmPerRev', b.penetration_mm_per_rev,
    'gripperPressureBar', b.gripper_pressure_bar, 'muckMassT', b.muck_mass_t::text, 'shift', s.shift_date || ' ' || n.name)
    order by b.from_m), '[]')
    from boring b left join shift s on s.id = b.shift_id left join calendar_shift n on n.id = s.calendar_shift_id
    where b.drive_id = d.id),
  'several', (select coalesce(json_agg(json_build_object('number', k.stroke_number, 'fromMm', (k.from_m * 1000)::int8,
    'toMm', (k.to_m * 1000)::int8, 'startedAt', k.started_at, 'endedAt', k.ended_at, 'thrustKn', k.thrust_kn,
    'torqueKnm', k.torque_knm, 'rotationRpm', k.rotation_rpm, 'penetrationMmPerRev', k.penetration_mm_per_rev,
    'gripperPressureBar', k.gripper_pressure_bar, 'muckMassT', k.muck_mass_t::text)), '[]')
    from stroke k where k.drive_id = d.id and k.boring_count > 1))::text as context
  from drive d join project p on p.id = d.project_id where d.id = $1`;

/**
 * Locks the drive, so that its writers run one after another, then reads its current state. Two statements: a single one that waits
 * for the lock would read the state from before the wait.
 * @returns the context as text, for readContext
 * @throws ProblemError not_found naming the project and the drive
 */
export const lockedContextText = async (
  transaction: Transaction,
  drive: string,
): Promise<{ driveId: number; context: string }> => {
  const driveId = await lockedDriveId(transaction, drive);
  const [row] = await readRows<{ context: string }>(transaction, CONTEXT, driveId);
  if (!row) throw notFound(`drive ${drive} in project ${scope().project}`);
  return { driveId, context: row.context };
};

/** The same, parsed. */
export const lockedImportContext = async (
  transaction: Transaction,
  drive: string,
): Promise<ImportContext & { driveId: number }> => {
  const { driveId, context } = await lockedContextText(transaction, drive);
  return { driveId, ...readContext(context) };
};
