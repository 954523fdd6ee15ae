import { cursorBy } from '../../../common/api/cursor.js';
import { columnsOf, objectOf, sql } from '../../../common/database/reading.js';
import {
  GroutingBeyondPublished,
  GroutingControlHole,
  GroutingHole,
  GroutingRound,
  GroutingRoundSummary,
  GroutMix,
} from './grouting.models.js';

const MIXES = `(select coalesce(json_agg(${objectOf(columnsOf(GroutMix, 'x'))} order by x.number), '[]') from grout_mix x where x.grout_hole_id = h.grouting_hole_id)`;

const HOLE = columnsOf(GroutingHole, 'h', { lookOutAzimuthDeg: 'noted_azimuth_deg', mixes: { as: MIXES } });

const HOLES = `(select coalesce(json_agg(${objectOf(HOLE)} order by h.name collate "C"), '[]') from grouting_hole h where h.grouting_round_id = g.grouting_round_id)`;

const CONTROLS =
  'from grouting_control_hole c where c.grouting_round_id = g.grouting_round_id and c.drive_id = g.drive_id';
const CONTROL_NAMES = `(select coalesce(json_agg(c.hole order by c.place), '[]') ${CONTROLS})`;
const CONTROL_RESULTS = `(select coalesce(json_agg(${objectOf(columnsOf(GroutingControlHole, 'c'))} order by c.place), '[]') ${CONTROLS})`;

const BEYOND = `case when g.beyond_published is not null then (
    select coalesce(json_agg(${objectOf(columnsOf(GroutingBeyondPublished, 'b'))} order by b.figure), '[]') from grouting_published_range() b where b.figure = any (g.beyond_published)) end`;

const SUMMARY = { beyondPublished: { as: BEYOND }, caution: false } as const;

const ROUND = columnsOf(GroutingRound, 'g', {
  ...SUMMARY,
  holes: { as: HOLES },
  controlHoles: { as: CONTROL_NAMES },
  controlResults: { as: CONTROL_RESULTS },
});

export const ONE = sql`select ${ROUND} from grouting_round g where g.drive_id = $1 and g.name = $2`;

export const PAGE = sql`select ${columnsOf(GroutingRoundSummary, 'g', SUMMARY)}, ${cursorBy({ moment: 'g.started_at' }, 'g.name')}
  from grouting_round g where g.drive_id = $1 and (g.started_at, g.name) > ($2::timestamptz, $3)
  order by g.started_at, g.name limit $4`;

/** Looks up the records of the names that a round refers to. */
export const NAMED = `select exists (select from inflow_measurement m where m.drive_id = $1 and m.name = $2) as "hasMeasurement",
  exists (select from probe_hole h where h.drive_id = $1 and h.name = $3) as "hasHole",
  (select coalesce(json_agg(json_build_object('name', h.name, 'isControl', coalesce(h.state = 'control_hole', false))), '[]')
    from probe_hole h where h.drive_id = $1 and h.name = any ($4::text[])) as "controlHoles"`;

const GIVEN_HOLES = `jsonb_to_recordset($2::jsonb) as g(name text, "collarM" numeric, "positionDeg" numeric, "lookOutDeg" numeric, "lookOutAzimuthDeg" numeric,
  "lengthM" numeric, "diameterMm" numeric, "startedAt" timestamptz, "endedAt" timestamptz, "pressureEndBar" numeric, "stopCriterion" grouting_stop,
  remark text, "axialReachM" numeric, "radialSpreadM" numeric)`;

/** Unchanged holes and mixes keep their rows, so that the history shows no change where nothing differs. */
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
