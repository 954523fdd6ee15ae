import { notFound } from '../../common/api/problem.js';
import { readRows, type Transaction } from '../../common/database/database.js';
import { lockedDriveId } from '../../common/database/drive-reader.service.js';
import { scope } from '../../common/database/scope.js';
import { DriveFrame } from '../../common/drive-frame.js';
import type { Direction } from '../../engineering/chainage.js';
import type { BoringMachine } from '../../engineering/stroke-values.js';
import type { StrokeValues } from './import-rows.js';

/** A boring that stands on the drive. */
export interface Standing extends StrokeValues {
  id: number;
  /** date and name of the shift it was posted with; null: imported */
  shift: string | null;
}

/** What a table is judged by. */
export interface ImportContext {
  driveId: number;
  frame: DriveFrame;
  machine: BoringMachine | null;
  /** along the drive */
  standing: Standing[];
}

interface Row {
  startMm: number;
  lengthMm: number;
  direction: Direction;
  machine: BoringMachine | null;
  standing: (Omit<Standing, 'startedAt' | 'endedAt'> & {
    startedAt: string | null;
    endedAt: string | null;
  })[];
}

const CONTEXT = `select (d.start_chainage_m * 1000)::int8 as "startMm",
  (abs(d.end_chainage_m - d.start_chainage_m) * 1000)::int8 as "lengthMm", d.direction,
  case when m.id is not null then json_build_object('discCount', m.disc_count, 'discRadiusMm', m.disc_radius_mm,
    'boredDiameterM', d.bored_diameter_m, 'frictionKn', m.friction_kn, 'idleTorqueKnm', m.idle_torque_knm,
    'torqueRatioLower', m.torque_ratio_lower, 'torqueRatioUpper', m.torque_ratio_upper) end as machine,
  (select coalesce(json_agg(json_build_object('id', b.id, 'number', b.stroke_number, 'fromMm', (b.from_m * 1000)::int8,
    'toMm', (b.to_m * 1000)::int8, 'startedAt', b.started_at, 'endedAt', b.ended_at, 'thrustKn', b.thrust_kn,
    'torqueKnm', b.torque_knm, 'rotationRpm', b.rotation_rpm, 'penetrationMmPerRev', b.penetration_mm_per_rev,
    'gripperPressureBar', b.gripper_pressure_bar, 'muckMassT', b.muck_mass_t::text, 'shift', s.shift_date || ' ' || n.name)
    order by b.from_m), '[]')
    from boring b left join shift s on s.id = b.shift_id left join calendar_shift n on n.id = s.calendar_shift_id
    where b.drive_id = d.id) as standing
  from drive d left join machine m on m.id = d.machine_id where d.id = $1`;

const ms = (instant: string | null): number | null => (instant === null ? null : Date.parse(instant));

/**
 * Locks the drive, so that its writers follow each other, then reads what stands on it. Two statements: one that waits
 * for the lock would read the rest as it stood before the wait.
 * @throws ProblemError not_found naming the project and the drive
 */
export const lockedImportContext = async (
  transaction: Transaction,
  drive: string,
): Promise<ImportContext> => {
  const driveId = await lockedDriveId(transaction, drive);
  const [row] = await readRows<Row>(transaction, CONTEXT, driveId);
  if (!row) throw notFound(`drive ${drive} in project ${scope().project}`);
  return {
    driveId,
    frame: new DriveFrame(row.startMm, row.lengthMm, row.direction),
    machine: row.machine,
    standing: row.standing.map((boring) => ({
      ...boring,
      startedAt: ms(boring.startedAt),
      endedAt: ms(boring.endedAt),
    })),
  };
};
