/** What a daily report is made of, from schema report. */

const DAY_AND_TIME = 'YYYY-MM-DD HH24:MI';

/** $1 the drive's id, $2 and $3 the first and the last day. */
const start = (day: string): string => `production_day_start(${day}, p.time_zone, p.day_start)`;

export const HEAD = `select p.name as "projectName", d.name as "driveName", p.time_zone as "timeZone",
    (select json_build_object('change', c.number, 'changedAt', c.made_at, 'changedClock', to_char(timezone(p.time_zone, c.made_at), '${DAY_AND_TIME}'))
      from (select number, made_at from change order by number desc limit 1) c) as "lastChange",
    (select coalesce(json_agg(json_build_object('side', y.side, 'kind', y.kind, 'name', y.name) order by y.side, y.kind, y.code), '[]')
      from party y where y.project_id = p.id) as parties
  from drive d join project p on p.id = d.project_id where d.id = $1`;

/** The days in which a shift starts, each with what shift_advance, by shift, and day_advance count; shifts are found by the index on their start. */
export const SHIFTS = `select s.shift_id as id, s.production_day as day, s.shift_date as date, s.shift_name as shift, s.starts_at as "startsAt", s.ends_at as "endsAt",
    to_char(s.starts_local, '${DAY_AND_TIME}') as "startsClock", to_char(s.ends_local, '${DAY_AND_TIME}') as "endsClock", s.seconds::text as seconds,
    s.state, s.digest, s.crew_lead as "crewLead", s.remark, s.posted_by as "postedBy", s.posted_for as "postedFor",
    to_char(timezone(p.time_zone, s.submitted_at), '${DAY_AND_TIME}') as "submittedClock"
  from project p join shift_sheet s on s.drive_id = $1
  where p.id = scope_project() and s.starts_at >= (select ${start('$2::date')} from project p where p.id = scope_project())
    and s.starts_at < (select ${start('$3::date + 1')} from project p where p.id = scope_project())
  order by s.starts_at`;

/** $2 and $3 as above. */
export const DAYS = `select a.production_day as date, to_char(timezone(p.time_zone, ${start('a.production_day')}), '${DAY_AND_TIME}') as "startsClock",
    to_char(timezone(p.time_zone, ${start('a.production_day + 1')}), '${DAY_AND_TIME}') as "endsClock",
    a.advance_m::text as "advanceM", chainage_text(a.from_chainage_m) as "fromChainage", chainage_text(a.face_chainage_m) as "faceChainage",
    a.stroke_count as "strokeCount", a.boring_hours::text as "boringHours", a.cumulative_m::text as "cumulativeM"
  from day_advance a join drive d on d.id = a.drive_id join project p on p.id = d.project_id
  where a.drive_id = $1 and a.production_day >= $2::date and a.production_day <= $3::date`;

/** By day: $1 the drive's id, $2 and $3 the first and the last day. */
export const DAY_TIMES = `select production_day as day, counts_as as "timeClass", seconds::text as seconds
  from day_time_class($1, $2::date, $3::date) order by production_day, counts_as`;

export const DAY_SUPPORT = `select production_day as day, zone, item_code as item, description, quantity::text as quantity, unit
  from day_support where drive_id = $1 and production_day >= $2::date and production_day <= $3::date order by production_day, zone, item_code`;

export const MISSING = `select shift_date as day, shift_name as shift from missing_shift
  where drive_id = $1 and shift_date >= $2::date and shift_date <= $3::date order by from_at`;

/** $1 the drive's id, $2 the time zone; the drive's, whatever the day. */
export const OPEN_ALERTS = `select number, text, raised_at as "raisedAt", to_char(timezone($2, raised_at), '${DAY_AND_TIME}') as "raisedClock",
  acknowledged_by as "acknowledgedBy", is_open as "isOpen" from alert_register where drive_id = $1 and is_open order by number`;

/** By shift: $1 their ids, $2 the drive's, $3 the time zone. */
const OF_SHIFTS = 'drive_id = $2 and shift_id = any ($1::int[])';
const OF_SHEETS = 's.drive_id = $2 and s.shift_id = any ($1::int[])';
const clock = (column: string): string => `to_char(timezone($3, ${column}), 'HH24:MI')`;
/** Joins what was made at a moment to the shift that holds it. */
const during = (view: string, column: string): string =>
  `shift_sheet s join ${view} v on v.drive_id = s.drive_id and v.${column} >= s.starts_at and v.${column} < s.ends_at where ${OF_SHEETS}`;

export const OF_EACH_SHIFT = {
  figures: `select a.shift_id as id, a.advance_m::text as "advanceM", chainage_text(a.from_chainage_m) as "fromChainage",
      chainage_text(a.face_chainage_m) as "faceChainage", a.stroke_count as "strokeCount", a.boring_hours::text as "boringHours",
      a.cumulative_m::text as "cumulativeM"
    from shift_advance a where ${OF_SHIFTS}`,
  acceptance: `select shift_id as id, acceptance, countersigned_by as "countersignedBy", countersigned_for as "countersignedFor",
      to_char(timezone($3, countersigned_at), '${DAY_AND_TIME}') as "countersignedClock", disputed_by as "disputedBy", dispute_reason as "disputeReason"
    from shift_acceptance where ${OF_SHIFTS}`,
  quarters: `select shift_id as id, quarter, starts_at as "startsAt", ${clock('starts_at')} as "startsClock", ends_at as "endsAt", counts_as as "timeClass",
      seconds::text as seconds
    from shift_quarter_hour where ${OF_SHIFTS} order by shift_id, quarter, first_at nulls last`,
  times: `select shift_id as id, counts_as as "timeClass", seconds::text as seconds
    from shift_time_class where ${OF_SHIFTS} order by shift_id, counts_as nulls last`,
  strokes: `select shift_id as id, stroke_number as number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM",
      started_at as "startedAt", ended_at as "endedAt", ${clock('started_at')} as "startedClock", ${clock('ended_at')} as "endedClock",
      round(boring_seconds, 3)::text as "boringSeconds", thrust_kn as "thrustKn", torque_knm as "torqueKnm", rotation_rpm as "rotationRpm",
      penetration_mm_per_rev as "penetrationMmPerRev", gripper_pressure_bar as "gripperPressureBar", muck_mass_t::text as "muckMassT"
    from shift_stroke where ${OF_SHIFTS} order by shift_id, from_m`,
  stops: `select shift_id as id, started_at as "startedAt", ended_at as "endedAt", ${clock('started_at')} as "startedClock", ${clock('ended_at')} as "endedClock",
      seconds::text as seconds, code, description as cause, counts_as as "timeClass", responsible_party as party, equipment_code as equipment, remark
    from shift_activity where ${OF_SHIFTS} and counts_as not in ('boring', 'regripping') order by shift_id, started_at`,
  support: `select shift_id as id, zone, item_code as item, description, quantity::text as quantity, unit, chainage_text(from_chainage_m) as from,
      chainage_text(to_chainage_m) as to, line_count as "lineCount", least_thickness_mm::text as "leastThicknessMm",
      most_thickness_mm::text as "mostThicknessMm", delivered_volume_m3::text as "deliveredVolumeM3", coalesce(remarks, '{}') as remarks
    from shift_support where ${OF_SHIFTS} order by shift_id, zone, item_code`,
  ground: `select shift_id as id, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM",
      ground_class_code as "groundClass", lithology, remark
    from ground where ${OF_SHIFTS} order by shift_id, from_m`,
  groundLogs: `select s.shift_id as id, v.name, chainage_text(v.from_chainage_m) as from, chainage_text(v.to_chainage_m) as to, v.mapped_by as "mappedBy",
      v.lithology, v.q, v.rmr, v.gsi::text as gsi
    from ${during('ground_log', 'mapped_at')} order by s.shift_id, v.mapped_at, v.name`,
  probeHoles: `select shift_id as id, name, drilled_at as "drilledAt", ${clock('drilled_at')} as "drilledClock", state, chainage_text(collar_chainage_m) as collar,
      chainage_text(reach_chainage_m) as reach, position_deg::text as "positionDeg", look_out_deg::text as "lookOutDeg", length_m::text as "lengthM",
      water_inflow_l_per_min::text as "waterInflowLPerMin", water_depth_m::text as "waterDepthM", gives_cover as "givesCover", remark
    from shift_probe_hole where ${OF_SHIFTS} order by shift_id, drilled_at, name`,
  water: `select * from (
      select s.shift_id as id, v.name, v.measured_at as "measuredAt", ${clock('v.measured_at')} as "measuredClock", v.place, chainage_text(v.from_chainage_m) as from,
        chainage_text(v.to_chainage_m) as to, v.hole, v.method, v.inflow_l_per_min::text as "inflowLPerMin", null as "representativeLu", null as "lugeonClass", v.remark
      from ${during('inflow', 'measured_at')}
      union all
      select s.shift_id, v.name, v.tested_at, ${clock('v.tested_at')}, null, chainage_text(v.collar_chainage_m), null, v.hole, null, null,
        v.representative_lu::text, v.lugeon_class, v.remark
      from ${during('water_test', 'tested_at')}
    ) w order by id, "measuredAt", name`,
  alerts: `select s.shift_id as id, v.number, v.text, v.raised_at as "raisedAt", to_char(timezone($3, v.raised_at), '${DAY_AND_TIME}') as "raisedClock",
      v.acknowledged_by as "acknowledgedBy", v.is_open as "isOpen"
    from ${during('alert_register', 'raised_at')} order by s.shift_id, v.number`,
  photos: `select s.shift_id as id, v.number, v.caption, v.file_name as "fileName"
    from shift_sheet s join attachment v on v.drive_id = s.drive_id and v.shift_date = s.shift_date and v.shift_name = s.shift_name
    where ${OF_SHEETS} order by s.shift_id, v.number`,
} as const;
