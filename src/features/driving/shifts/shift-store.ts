import type { Send } from '../../../common/database/database.js';
import { BORING } from '../stroke-values/boring-columns.js';
import type { ShiftContext, ShiftKey, StandingShift } from './shift-context.js';
import { type ShiftRows, storedRows } from './shift-rows.js';

const CREATE = `insert into shift (id, starts_at, ends_at, state, crew_lead, remark, digest, drive_id, shift_date, calendar_shift_id)
  values ($1, $2::timestamptz, $3::timestamptz, $4::shift_state, $5, $6, $7, $8, $9::date, $10)`;

const CLEAR = `with b as (delete from boring where shift_id = $1), a as (delete from activity where shift_id = $1),
  u as (delete from support_installed where shift_id = $1), g as (delete from ground_interval where shift_id = $1),
  c as (delete from shift_confirmation where shift_id = $1)
  update shift set starts_at = $2::timestamptz, ends_at = $3::timestamptz, state = $4::shift_state, crew_lead = $5, remark = $6, digest = $7,
    calendar_shift_id = $8
  where id = $1`;

const FILL = `with document as (select $3::jsonb as d),
  b as (
    insert into boring (drive_id, shift_id, ${BORING.names})
    select $1, $2, ${BORING.values} from document, jsonb_to_recordset(d -> 'borings') as r(${BORING.record})),
  a as (
    insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id, responsible_party, remark, equipment_id)
    select $1, $2, r."startedAt", r."endedAt", r."codeId", r."responsibleParty", r.remark, r."equipmentId"
    from document, jsonb_to_recordset(d -> 'activities') as r("startedAt" timestamptz, "endedAt" timestamptz, "codeId" int,
      "responsibleParty" responsible_party, remark text, "equipmentId" int)),
  g as (
    insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id, lithology, remark)
    select $1, $2, r."fromM", r."toM", r."classId", r.lithology, r.remark
    from document, jsonb_to_recordset(d -> 'ground') as r("fromM" numeric, "toM" numeric, "classId" int, lithology text, remark text)),
  c as (
    insert into shift_confirmation (drive_id, shift_id, line, doubt, from_m, reason)
    select $1, $2, r.line, r.doubt, r."fromM", r.reason
    from document, jsonb_to_recordset(d -> 'confirm') as r(line int, doubt text, "fromM" numeric, reason text))
  insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity, arc_from_deg, arc_to_deg,
    thickness_mm, installed_at, remark, delivered_volume_m3, positions_m, arc_positions_deg)
  select $1, $2, r.line, r."itemId", r.unit, r.zone, r."fromM", r."toM", r.quantity, r."arcFromDeg", r."arcToDeg", r."thicknessMm", r."installedAt", r.remark,
    r."deliveredVolumeM3", r."positionsM", r."arcPositionsDeg"
  from document, jsonb_to_recordset(d -> 'support') as r(line int, "itemId" int, unit support_unit, zone text, "fromM" numeric,
    "toM" numeric, quantity numeric, "arcFromDeg" numeric, "arcToDeg" numeric, "thicknessMm" numeric, "installedAt" timestamptz, remark text,
    "deliveredVolumeM3" numeric, "positionsM" numeric[], "arcPositionsDeg" numeric[])`;

const head = ({ startsAt, endsAt, state, crewLead, remark }: ShiftRows, digest: string): unknown[] => [
  new Date(startsAt).toISOString(),
  new Date(endsAt).toISOString(),
  state,
  crewLead,
  remark,
  digest,
];

/** Replaces the stored shift: two statements, sent together, however many rows. */
export const storeShift = async (
  send: Send,
  { date }: ShiftKey,
  context: ShiftContext,
  rows: ShiftRows,
  digest: string,
): Promise<void> => {
  const { id, driveId, calendarShiftId, standing } = context;
  const shift = [id, ...head(rows, digest)];
  await Promise.all([
    standing
      ? send(CLEAR, ...shift, calendarShiftId)
      : send(CREATE, ...shift, driveId, date, calendarShiftId),
    send(FILL, driveId, id, JSON.stringify(storedRows(rows, context))),
  ]);
};

/** Removes a shift and all its rows. */
export const removeShift = async (send: Send, { id }: StandingShift): Promise<void> => {
  await send('delete from shift where id = $1', id);
};
