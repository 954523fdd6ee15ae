import { faulty, notFound } from '../../../common/api/problem.js';
import { readRows, type Send, statementsOf } from '../../../common/database/database.js';
import { lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { DriveFrame } from '../../../common/drive-frame.js';
import type { Direction } from '../../../engineering/chainage.js';
import type { BoringMachine } from '../../../engineering/stroke-values.js';
import type { ShiftState, SupportKind, SupportUnit } from '../../../generated/prisma/enums.js';
import { sharedStrokes } from '../doubts/doubts-of-others.js';

/** The address of a shift. */
export interface ShiftKey {
  project: string;
  drive: string;
  date: string;
  shift: string;
}

export interface StandingShift {
  id: number;
  digest: string;
  state: ShiftState;
}

/** Context for reading a shift document: the drive, the calendar and the catalogue, and what is already stored. */
export interface ShiftContext {
  driveId: number;
  /** of the project (IANA) */
  timeZone: string;
  frame: DriveFrame;
  /** machine data in force on the date */
  machine: BoringMachine | null;
  /** of the calendar in force on the date; for a submitted or countersigned shift, the one under which it was posted */
  calendarShiftId: number;
  calendarStartsAt: string;
  calendarEndsAt: string;
  /** local date of the document's start; null if it gives none */
  localStartDate: string | null;
  activityCodes: Record<string, number>;
  equipment: Record<string, number>;
  groundClasses: Record<string, number>;
  supportItems: Record<string, { id: number; unit: SupportUnit; kind: SupportKind }>;
  zones: string[];
  standing: StandingShift | null;
  /** whether others may hang on what it bores: those after it, and those with whom it shares a stroke or shared one */
  hasOthers: boolean;
  /** the id of the shift: of the existing one, or a new one */
  id: number;
}

interface Row extends Omit<ShiftContext, 'frame'> {
  startMm: number;
  lengthMm: number;
  direction: Direction;
  shiftNames: string[];
}

const CONTEXT = `select d.id as "driveId", p.time_zone as "timeZone", (d.start_chainage_m * 1000)::int8 as "startMm",
  (drive_length(d.start_chainage_m, d.end_chainage_m) * 1000)::int8 as "lengthMm", d.direction,
  case when m.machine_id is not null then json_build_object('discCount', m.disc_count, 'discRadiusMm', m.disc_radius_mm,
    'boredDiameterM', d.bored_diameter_m, 'frictionKn', m.friction_kn, 'idleTorqueKnm', m.idle_torque_knm,
    'torqueRatioLower', m.torque_ratio_lower, 'torqueRatioUpper', m.torque_ratio_upper) end as machine,
  case when s.state <> 'draft' then s.calendar_shift_id else coalesce(n.calendar_shift_id, s.calendar_shift_id) end as "calendarShiftId",
  timezone(p.time_zone, $2::date + times.start_time::interval) as "calendarStartsAt",
  calendar_shift_ends_at($2::date, times.start_time, times.end_time, p.time_zone) as "calendarEndsAt",
  timezone(p.time_zone, $4::timestamptz)::date as "localStartDate",
  (select coalesce(json_agg(c.name order by c.name), '[]') from calendar_in_force c
    where c.project_id = p.id and $2::date >= c.valid_from and $2::date < c.valid_to) as "shiftNames",
  (select coalesce(json_object_agg(code, id), '{}') from activity_code where project_id = p.id) as "activityCodes",
  (select coalesce(json_object_agg(code, id), '{}') from equipment where project_id = p.id) as equipment,
  (select coalesce(json_object_agg(code, id), '{}') from ground_class where project_id = p.id) as "groundClasses",
  (select coalesce(json_object_agg(code, json_build_object('id', id, 'unit', unit, 'kind', kind)), '{}') from support_item
    where project_id = p.id) as "supportItems",
  (select coalesce(json_agg(code order by code), '[]') from working_zone where project_id = p.id) as zones,
  case when s.id is not null then json_build_object('id', s.id, 'digest', s.digest, 'state', s.state) end as standing,
  exists (select from shift l where l.drive_id = d.id and l.id is distinct from s.id
    and l.starts_at > least($4::timestamptz, s.starts_at, timezone(p.time_zone, $2::date + times.start_time::interval)))
    or exists (select from ${sharedStrokes('s.id')}) as "hasOthers",
  coalesce(s.id, nextval('public.shift_id_seq')::int) as id
  from drive d join project p on p.id = d.project_id
  left join machine_data m on m.machine_id = d.machine_id and $2::date >= m.valid_from and $2::date < m.valid_to
  left join calendar_in_force n on n.project_id = p.id and n.name = $3 and $2::date >= n.valid_from and $2::date < n.valid_to
  left join lateral (
    select s.* from shift s join calendar_shift c on c.id = s.calendar_shift_id where s.drive_id = d.id and s.shift_date = $2::date and c.name = $3
  ) s on true
  left join calendar_shift times
    on times.id = case when s.state <> 'draft' then s.calendar_shift_id else coalesce(n.calendar_shift_id, s.calendar_shift_id) end
  where d.code = $1 and d.project_id = scope_project()`;

/**
 * Locks the drive, so that its writers run one after another, then reads the context of the document. Two statements, sent
 * together: a single one that waits for the lock would read the state from before the wait.
 * @param startsAt  the document's start, for its local date
 * @throws ProblemError not_found naming the project, drive or shift name
 */
export const lockedContext = async (
  send: Send,
  key: ShiftKey,
  startsAt: string | null,
): Promise<ShiftContext> => {
  const statements = statementsOf(send);
  const [, [row]] = await Promise.all([
    lockedDriveId(statements, key.drive),
    readRows<Row>(statements, CONTEXT, key.drive, key.date, key.shift, startsAt),
  ]);
  if (!row) throw notFound(`drive ${key.drive} in project ${key.project}`);
  const { startMm, lengthMm, direction, shiftNames, ...context } = row;
  if (context.calendarShiftId === null) throw unknownShift(key, shiftNames);
  return { ...context, frame: new DriveFrame(startMm, lengthMm, direction) };
};

const unknownShift = ({ shift, date }: ShiftKey, names: string[]): Error => {
  const known = names.length > 0 ? `its shifts are ${names.join(', ')}` : 'it has no shifts';
  const detail = `shift ${shift} is not in the calendar in force on ${date}: ${known}`;
  return faulty('not_found', [{ in: 'path', pointer: '/shift', value: shift, detail }]);
};
