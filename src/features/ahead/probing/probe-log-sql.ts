/** SQL: the log of a hole h, by depth. */
export const LOG = `(select coalesce(json_agg(json_build_object('fromM', l.from_m::text, 'toM', l.to_m::text,
    'penetrationRateMPerMin', l.penetration_rate_m_per_min::text, 'flushingColour', l.flushing_colour, 'flushingLossPercent', l.flushing_loss_percent::text,
    'waterInflowLPerMin', l.water_inflow_l_per_min::text, 'waterPressureBar', l.water_pressure_bar::text, 'isVoid', l.is_void, 'rock', l.rock,
    'remark', l.remark) order by l.from_m), '[]')
  from probe_log l where l.probe_hole_id = h.id)`;

/** The given holes ($2), each with its log. */
const HOLES = `jsonb_to_recordset($2::jsonb) as hole(name text, log jsonb)`;

const GIVEN = `with given as materialized (select hole.name as hole, r."fromM" as from_m, r."toM" as to_m,
    r."penetrationRateMPerMin" as penetration_rate_m_per_min, r."flushingColour" as flushing_colour,
    r."flushingLossPercent" as flushing_loss_percent, r."waterInflowLPerMin" as water_inflow_l_per_min,
    r."waterPressureBar" as water_pressure_bar, coalesce(r."isVoid", false) as is_void, r.rock, r.remark
  from ${HOLES} cross join lateral jsonb_to_recordset(hole.log) as r("fromM" numeric, "toM" numeric, "penetrationRateMPerMin" numeric,
    "flushingColour" text, "flushingLossPercent" numeric, "waterInflowLPerMin" numeric, "waterPressureBar" numeric, "isVoid" boolean, rock text,
    remark text))`;

const VALUES = [
  ...['from_m', 'to_m', 'penetration_rate_m_per_min', 'flushing_colour', 'flushing_loss_percent'],
  ...['water_inflow_l_per_min', 'water_pressure_bar', 'is_void', 'rock', 'remark'],
];

const listed = (prefix = ''): string => VALUES.map((column) => `${prefix}${column}`).join(', ');

/** Removes entries that differ from the given logs or are not in them; run before the holes are written, which may have become shorter. */
export const REMOVE_STALE = `${GIVEN} delete from probe_log t using probe_hole h
  where h.id = t.probe_hole_id and h.drive_id = $1 and h.name in (select hole.name from ${HOLES})
    and not exists (select from given g where g.hole = h.name and g.from_m = t.from_m
      and row(${listed('g.')}) is not distinct from row(${listed('t.')}))`;

/** Adds new entries; existing ones are left alone. */
export const ADD_NEW = `${GIVEN} insert into probe_log (drive_id, probe_hole_id, ${listed()})
  select h.drive_id, h.id, ${listed('g.')} from probe_hole h join given g on g.hole = h.name
  where h.drive_id = $1 and not exists (select from probe_log t where t.probe_hole_id = h.id and t.from_m = g.from_m)`;
