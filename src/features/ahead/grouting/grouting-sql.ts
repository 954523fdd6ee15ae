import { cursorBy } from '../../../common/api/cursor.js';

const MIXES = `(select coalesce(json_agg(json_build_object('material', x.material, 'waterCementRatio', x.water_cement_ratio::text, 'massKg', x.mass_kg::text,
    'volumeL', x.volume_l::text) order by x.number), '[]') from grout_mix x where x.grout_hole_id = h.grouting_hole_id)`;

const HOLES = `(select coalesce(json_agg(json_build_object('name', h.name, 'collar', chainage_text(h.collar_chainage_m), 'positionDeg', h.position_deg::text,
    'lookOutDeg', h.look_out_deg::text, 'lookOutAzimuthDeg', h.noted_azimuth_deg::text, 'lengthM', h.length_m::text, 'diameterMm', h.diameter_mm::text,
    'startedAt', h.started_at, 'endedAt', h.ended_at, 'pressureEndBar', h.pressure_end_bar::text, 'stopCriterion', h.stop_criterion, 'remark', h.remark,
    'mixes', ${MIXES}, 'axialReachM', h.axial_reach_m::text, 'radialSpreadM', h.radial_spread_m::text, 'reach', chainage_text(h.reach_chainage_m),
    'groutingHours', h.grouting_hours::text, 'massKg', h.mass_kg::text, 'volumeL', h.volume_l::text, 'waterCementRatio', h.water_cement_ratio::text,
    'takeKgPerM', h.take_kg_per_m::text, 'takeLPerM', h.take_l_per_m::text, 'shiftDate', h.shift_date::text, 'shiftName', h.shift_name,
    'shiftState', h.shift_state) order by h.name collate "C"), '[]')
  from grouting_hole h where h.grouting_round_id = g.grouting_round_id)`;

const CONTROL_NAMES = `(select coalesce(json_agg(c.hole order by c.place), '[]')
  from grouting_control_hole c where c.grouting_round_id = g.grouting_round_id and c.drive_id = g.drive_id)`;

const CONTROL_HOLES = `(select coalesce(json_agg(json_build_object('hole', c.hole, 'isRecorded', c.is_recorded, 'inflowLPerMin', c.inflow_l_per_min::text,
    'measuredAt', c.measured_at, 'triggerLPerMin', c.trigger_l_per_min::text, 'isMet', c.is_met) order by c.place), '[]')
  from grouting_control_hole c where c.grouting_round_id = g.grouting_round_id and c.drive_id = g.drive_id)`;

const BEYOND = `(select coalesce(json_agg(json_build_object('figure', b.figure, 'low', b.low::text, 'high', b.high::text, 'source', b.source) order by b.figure), '[]')
  from grouting_published_range() b where b.figure = any (g.beyond_published))`;

const COLUMNS = `g.name, g.purpose, g.state, chainage_text(g.from_chainage_m) as from, chainage_text(g.to_chainage_m) as to,
  chainage_text(g.face_chainage_m) as face, g.started_at as "startedAt", g.ended_at as "endedAt", g.trigger_measurement as "triggerMeasurement",
  g.trigger_hole as "triggerHole", g.remark, g.hole_count as "holeCount", g.hole_m::text as "holeM", g.mass_kg::text as "massKg", g.volume_l::text as "volumeL",
  g.water_cement_ratio::text as "waterCementRatio", g.grouting_hours::text as "groutingHours", g.round_hours::text as "roundHours",
  g.treated_m::text as "treatedM", g.treated_surface_m2::text as "treatedSurfaceM2", g.take_kg_per_m::text as "takeKgPerM",
  g.take_l_per_m::text as "takeLPerM", g.take_kg_per_m2::text as "takeKgPerM2", g.hole_m_per_m2::text as "holeMPerM2",
  g.pressure_end_bar::text as "pressureEndBar", g.control_inflow_l_per_min::text as "controlInflowLPerMin",
  g.control_trigger_l_per_min::text as "controlTriggerLPerMin", g.control_is_met as "controlIsMet",
  case when g.beyond_published is not null then ${BEYOND} end as "beyondPublished"`;

export const ONE = `select ${COLUMNS}, ${HOLES} as holes, ${CONTROL_NAMES} as "controlHoles", ${CONTROL_HOLES} as "controlResults" from grouting_round g where g.drive_id = $1 and g.name = $2`;

export const PAGE = `select ${COLUMNS}, ${cursorBy({ moment: 'g.started_at' }, 'g.name')} as cursor from grouting_round g where g.drive_id = $1 and (g.started_at, g.name) > ($2::timestamptz, $3)
  order by g.started_at, g.name limit $4`;

/** What the record has of what a round names. */
export const NAMED = `select exists (select from inflow_measurement m where m.drive_id = $1 and m.name = $2) as "hasMeasurement",
  exists (select from probe_hole h where h.drive_id = $1 and h.name = $3) as "hasHole",
  (select coalesce(json_agg(json_build_object('name', h.name, 'isControl', coalesce(h.state = 'control_hole', false))), '[]')
    from probe_hole h where h.drive_id = $1 and h.name = any ($4::text[])) as "controlHoles"`;

const GIVEN_HOLES = `jsonb_to_recordset($2::jsonb) as g(name text, "collarM" numeric, "positionDeg" numeric, "lookOutDeg" numeric, "lookOutAzimuthDeg" numeric,
  "lengthM" numeric, "diameterMm" numeric, "startedAt" timestamptz, "endedAt" timestamptz, "pressureEndBar" numeric, "stopCriterion" grouting_stop,
  remark text, "axialReachM" numeric, "radialSpreadM" numeric)`;

/** Holes and mixes that stay as they are keep their rows: history has no change where nothing differs. */
export const CLEAR_HOLES = `delete from grout_hole h where h.grout_round_id = $1 and not exists (select from ${GIVEN_HOLES} where g.name = h.name)`;

export const FILL_HOLES = `insert into grout_hole (drive_id, grout_round_id, name, collar_m, position_deg, look_out_deg, look_out_azimuth_deg, length_m, diameter_mm,
    started_at, ended_at, pressure_end_bar, stop_criterion, remark, axial_reach_m, radial_spread_m)
  select $3, $1, g.name, g."collarM", g."positionDeg", g."lookOutDeg", g."lookOutAzimuthDeg", g."lengthM", g."diameterMm", g."startedAt", g."endedAt",
    g."pressureEndBar", g."stopCriterion", g.remark, g."axialReachM", g."radialSpreadM" from ${GIVEN_HOLES}
  on conflict (grout_round_id, name) do update set collar_m = excluded.collar_m, position_deg = excluded.position_deg, look_out_deg = excluded.look_out_deg,
    look_out_azimuth_deg = excluded.look_out_azimuth_deg, length_m = excluded.length_m, diameter_mm = excluded.diameter_mm, started_at = excluded.started_at,
    ended_at = excluded.ended_at, pressure_end_bar = excluded.pressure_end_bar, stop_criterion = excluded.stop_criterion, remark = excluded.remark,
    axial_reach_m = excluded.axial_reach_m, radial_spread_m = excluded.radial_spread_m`;

const GIVEN_MIXES = `jsonb_to_recordset($2::jsonb) as g(hole text, number int, material text, "waterCementRatio" numeric, "massKg" numeric, "volumeL" numeric)`;

export const CLEAR_MIXES = `delete from grout_mix x using grout_hole h where h.id = x.grout_hole_id and h.grout_round_id = $1
  and not exists (select from ${GIVEN_MIXES} where g.hole = h.name and g.number = x.number)`;

export const FILL_MIXES = `insert into grout_mix (drive_id, grout_hole_id, number, material, water_cement_ratio, mass_kg, volume_l)
  select h.drive_id, h.id, g.number, g.material, g."waterCementRatio", g."massKg", g."volumeL"
  from ${GIVEN_MIXES} join grout_hole h on h.grout_round_id = $1 and h.name = g.hole
  on conflict (grout_hole_id, number) do update set material = excluded.material, water_cement_ratio = excluded.water_cement_ratio, mass_kg = excluded.mass_kg,
    volume_l = excluded.volume_l`;
