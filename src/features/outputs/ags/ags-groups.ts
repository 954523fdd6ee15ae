import type { Heading } from './ags-text.js';

/** A group read from the record: its columns have the names of its headings. $1 is the drive. */
export interface GroupQuery {
  name: string;
  headings: Heading[];
  sql: string;
}

/** @param of  name, unit and type of each heading, in the order of the dictionary */
const headings = (...of: [name: string, unit: string, type: string][]): Heading[] =>
  of.map(([name, unit, type]) => ({ name, unit, type }));

export const PROJ = headings(
  ['PROJ_ID', '', 'ID'],
  ['PROJ_NAME', '', 'X'],
  ['PROJ_CLNT', '', 'X'],
  ['PROJ_CONT', '', 'X'],
  ['PROJ_ENG', '', 'X'],
);

export const TRAN = headings(
  ['TRAN_ISNO', '', 'X'],
  ['TRAN_DATE', 'yyyy-mm-dd', 'DT'],
  ['TRAN_PROD', '', 'X'],
  ['TRAN_STAT', '', 'X'],
  ['TRAN_DESC', '', 'X'],
  ['TRAN_AGS', '', 'X'],
  ['TRAN_RECV', '', 'X'],
  ['TRAN_DLIM', '', 'X'],
  ['TRAN_RCON', '', 'X'],
  ['TRAN_REM', '', 'X'],
);

export const ABBR = headings(['ABBR_HDNG', '', 'X'], ['ABBR_CODE', '', 'X'], ['ABBR_DESC', '', 'X']);
export const TYPE = headings(['TYPE_TYPE', '', 'X'], ['TYPE_DESC', '', 'X']);
export const UNIT = headings(['UNIT_UNIT', '', 'X'], ['UNIT_DESC', '', 'X']);

const PARTY = (kind: string): string =>
  `(select string_agg(name, ', ' order by code) from party where project_id = p.id and kind = '${kind}')`;

/** The project, the drive, and the date of the requested moment. */
export const HEAD = `select p.code as project, p.name as "projectName", d.code as drive, d.name as "driveName",
  to_char(moment_asked() at time zone p.time_zone, 'YYYY-MM-DD') as date, ${PARTY('client')} as client, ${PARTY('contractor')} as contractor,
  ${PARTY('designer')} as designer from drive d join project p on p.id = d.project_id where d.id = $1`;

export const CLASSES = `select code, description from ground_class where project_id = scope_project()`;

/** A place in a drive or hole, to the millimetre: with the 2DP that the dictionary suggests, keys of neighbours could coincide. */
const PLACE = '3DP';

const HOLE_ID = `d.code || '/' || h.name`;
const OF_DRIVE = `join drive d on d.id`;
const LOCAL = (instant: string, form: string): string =>
  `to_char(${instant} at time zone p.time_zone, '${form}')`;
/** The logs of the drive's holes. */
const LOGGED = `from probe_log l join probe_hole h on h.id = l.probe_hole_id ${OF_DRIVE} = h.drive_id where l.drive_id = $1`;
const DAY = 'YYYY-MM-DD';
const MINUTE = 'YYYY-MM-DD"T"HH24:MI';

/** Holes are exploratory holes, with only the drilling data that were recorded. A water test may refer to a hole that is not on record. */
const LOCA: GroupQuery = {
  name: 'LOCA',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['LOCA_TYPE', '', 'PA'],
    ['LOCA_REM', '', 'X'],
    ['LOCA_FDEP', 'm', PLACE],
    ['LOCA_STAR', 'yyyy-mm-dd', 'DT'],
    ['LOCA_PURP', '', 'X'],
    ['LOCA_TERM', '', 'X'],
    ['LOCA_ALID', '', 'X'],
    ['LOCA_OFFS', '', PLACE],
    ['LOCA_CNGE', '', 'X'],
  ),
  sql: `select * from (
    select d.code as "LOCA_ID", 'TRAV' as "LOCA_TYPE", 'Depths are driven metres from the start of the drive' as "LOCA_REM", f.face_m::text as "LOCA_FDEP",
      (select ${LOCAL('min(b.started_at)', DAY)} from boring b where b.drive_id = d.id) as "LOCA_STAR", 'Drive ' || d.name as "LOCA_PURP", null as "LOCA_TERM", d.code as "LOCA_ALID",
      '0.000' as "LOCA_OFFS", chainage_text(d.start_chainage_m) as "LOCA_CNGE", -1 as at_m
    from drive d join project p on p.id = d.project_id join drive_progress f on f.drive_id = d.id where d.id = $1
    union all
    select ${HOLE_ID}, case when h.method = 'cored' then 'RC' else 'EH' end, h.remark, h.length_m::text, ${LOCAL('h.drilled_at', DAY)}, case when h.state = 'control_hole' then 'Control hole ahead of the face' else 'Probe hole ahead of the face' end,
      case when h.state in ('abandoned', 'flooded') then h.state::text end, d.code, null,
      chainage_text(chainage_of_driven(d.start_chainage_m, d.direction, h.collar_m)), h.collar_m
    from probe_hole h ${OF_DRIVE} = h.drive_id join project p on p.id = d.project_id where h.drive_id = $1
    union all
    select w.drive_code || '/' || w.hole, 'EH', null, null, null, 'Hole of a water test', null, w.drive_code, null, chainage_text(max(w.collar_chainage_m)), null
    from water_test w where w.drive_id = $1 and not exists (select from probe_hole h where h.drive_id = $1 and h.name = w.hole) group by w.drive_code, w.hole
  ) l order by at_m, "LOCA_ID"`,
};

/** Orientation and inclination are not recorded: a hole is described by its angle to the axis of the drive, whose bearing is unknown. */
const HORN: GroupQuery = {
  name: 'HORN',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['HORN_TOP', 'm', PLACE],
    ['HORN_BASE', 'm', PLACE],
    ['HORN_ORNT', 'deg', '0DP'],
    ['HORN_INCL', 'deg', '0DP'],
    ['HORN_REM', '', 'X'],
  ),
  sql: `select ${HOLE_ID} as "LOCA_ID", '0.000' as "HORN_TOP", h.length_m::text as "HORN_BASE", null as "HORN_ORNT", null as "HORN_INCL",
      concat_ws('; ', 'look-out angle ' || h.look_out_deg || ' deg from the axis of the drive, ahead', 'collar at ' || h.position_deg ||
        ' deg clockwise from the crown seen in the direction of the drive') as "HORN_REM"
    from probe_hole h ${OF_DRIVE} = h.drive_id where h.drive_id = $1 order by h.collar_m, h.name`,
};

const GEOL: GroupQuery = {
  name: 'GEOL',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['GEOL_TOP', 'm', PLACE],
    ['GEOL_BASE', 'm', PLACE],
    ['GEOL_DESC', '', 'X'],
    ['GEOL_GEOL', '', 'PA'],
    ['GEOL_REM', '', 'X'],
  ),
  sql: `select * from (
    select drive_code as "LOCA_ID", from_m::text as "GEOL_TOP", to_m::text as "GEOL_BASE", lithology as "GEOL_DESC", ground_class_code as "GEOL_GEOL",
      remark as "GEOL_REM", -1 as collar_m, from_m from ground where drive_id = $1
    union all
    select ${HOLE_ID}, l.from_m::text, l.to_m::text, l.rock, null, null, h.collar_m, l.from_m ${LOGGED} and l.rock is not null
  ) g order by collar_m, "LOCA_ID", from_m`,
};

/** Encounters along the drive and observations along the holes, in one remark per place. */
const DREM: GroupQuery = {
  name: 'DREM',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['DREM_TOP', 'm', PLACE],
    ['DREM_BASE', 'm', PLACE],
    ['DREM_REM', '', 'X'],
  ),
  sql: `select * from (
    select d.code as "LOCA_ID", e.from_m::text as "DREM_TOP", e.to_m::text as "DREM_BASE", string_agg(concat_ws('; ', e.name || ': ' ||
        replace(e.kind::text, '_', ' ') || ', met by ' || replace(e.source::text, '_', ' '), 'seen by ' || e.met_by, e.remark), '; ' order by e.name) as "DREM_REM", -1 as collar_m, e.from_m, e.to_m
    from encounter e ${OF_DRIVE} = e.drive_id where e.drive_id = $1 group by d.code, e.from_m, e.to_m
    union all
    select ${HOLE_ID}, l.from_m::text, l.to_m::text, concat_ws('; ', case when l.is_void then 'void' end, 'water ' || l.water_inflow_l_per_min || ' l/min',
      l.water_pressure_bar || ' bar', l.remark), h.collar_m, l.from_m, l.to_m
    ${LOGGED} and (l.is_void or num_nonnulls(l.water_inflow_l_per_min, l.water_pressure_bar, l.remark) > 0)
  ) r order by collar_m, "LOCA_ID", from_m, to_m`,
};

/** One set of readings per hole: A. */
const DOBS: GroupQuery = {
  name: 'DOBS',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['DOBS_TOP', 'm', PLACE],
    ['DOBS_BASE', 'm', PLACE],
    ['DOBS_SET', '', 'X'],
    ['DOBS_PENR', 'm/hr', '2DP'],
  ),
  sql: `select ${HOLE_ID} as "LOCA_ID", l.from_m::text as "DOBS_TOP", l.to_m::text as "DOBS_BASE", 'A' as "DOBS_SET",
      round(l.penetration_rate_m_per_min * 60, 2)::text as "DOBS_PENR"
    ${LOGGED} and l.penetration_rate_m_per_min is not null order by h.collar_m, h.name, l.from_m`,
};

/** The log records the loss; the dictionary has the return, minimum and maximum. */
const FLSH: GroupQuery = {
  name: 'FLSH',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['FLSH_TOP', 'm', PLACE],
    ['FLSH_BASE', 'm', PLACE],
    ['FLSH_RETN', '%', '2DP'],
    ['FLSH_RETX', '%', '2DP'],
    ['FLSH_COL', '', 'X'],
  ),
  sql: `select ${HOLE_ID} as "LOCA_ID", l.from_m::text as "FLSH_TOP", l.to_m::text as "FLSH_BASE", (100 - l.flushing_loss_percent)::text as "FLSH_RETN",
      (100 - l.flushing_loss_percent)::text as "FLSH_RETX", l.flushing_colour as "FLSH_COL"
    ${LOGGED} and num_nonnulls(l.flushing_loss_percent, l.flushing_colour) > 0 order by h.collar_m, h.name, l.from_m`,
};

const WSTG: GroupQuery = {
  name: 'WSTG',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['WSTG_DPTH', 'm', PLACE],
    ['WSTG_DTIM', 'yyyy-mm-ddThh:mm', 'DT'],
    ['WSTG_REM', '', 'X'],
  ),
  sql: `select ${HOLE_ID} as "LOCA_ID", h.water_depth_m::text as "WSTG_DPTH", ${LOCAL('h.drilled_at', MINUTE)} as "WSTG_DTIM",
      'inflow ' || h.water_inflow_l_per_min || ' l/min' as "WSTG_REM"
    from probe_hole h ${OF_DRIVE} = h.drive_id join project p on p.id = d.project_id where h.drive_id = $1 and h.water_depth_m is not null
    order by h.collar_m, h.name`,
};

const TEST_KEY: [name: string, unit: string, type: string][] = [
  ['LOCA_ID', '', 'ID'],
  ['IPRG_TOP', 'm', PLACE],
  ['IPRG_TESN', '', 'X'],
  ['IPRG_BASE', 'm', PLACE],
  ['IPRG_STG', '', '0DP'],
];

const TEST_ID = `w.drive_code || '/' || w.hole as "LOCA_ID", w.from_depth_m::text as "IPRG_TOP", w.name as "IPRG_TESN", w.to_depth_m::text as "IPRG_BASE"`;

/** Pressure of a metre of fresh water: 1000 kg/m³ · 9.80665 m/s². [bar/m] */
const BAR_OF_METRE = '0.0980665';

/** A water test as a whole, without a stage number and with its conductivity by Moye, followed by each of its steps. */
const IPRG: GroupQuery = {
  name: 'IPRG',
  headings: headings(
    ...TEST_KEY,
    ['IPRG_TYPE', '', 'PA'],
    ['IPRG_TDIA', 'm', '4DP'],
    ['IPRG_IPRM', 'm/s', '2SCI'],
    ['IPRG_FLOW', 'l/s', '4DP'],
    ['IPRG_HEAD', 'm', '2DP'],
    ['IPRG_DATE', 'yyyy-mm-dd', 'DT'],
    ['IPRG_REM', '', 'X'],
    ['IPRG_METH', '', 'X'],
  ),
  sql: `select ${TEST_ID}, g.number::text as "IPRG_STG", 'Water Pressure' as "IPRG_TYPE", round(w.hole_diameter_mm / 1000, 4)::text as "IPRG_TDIA",
      regexp_replace(upper(trim(to_char(g.conductivity_m_per_s, '9.99EEEE'))), '(E[+-])0?(?=[0-9]+$)', '\\1') as "IPRG_IPRM", round(g.flow_l_per_min / 60, 4)::text as "IPRG_FLOW",
      round(g.net_bar / ${BAR_OF_METRE}, 2)::text as "IPRG_HEAD", ${LOCAL('w.tested_at', DAY)} as "IPRG_DATE", g.remark as "IPRG_REM", 'Lugeon test' as "IPRG_METH"
    from water_test w join project p on p.code = w.project_code
    cross join lateral (
      select null::int as number, w.moye_m_per_s as conductivity_m_per_s, null::numeric as flow_l_per_min, null::numeric as net_bar,
        concat_ws('; ', 'representative ' || w.representative_lu || ' Lu, ' || replace(w.lugeon_class, '_', ' '), 'flow pattern suggested: ' ||
          replace(w.flow_pattern, '_', ' '), case when w.moye_m_per_s is not null then 'permeability by Moye at that value' end,
          'tested by ' || w.tested_by, w.remark) as remark
      union all
      select s.number, null, s.flow_l_per_min, s.net_bar, s.lugeon || ' Lu' from water_test_step s where s.water_test_id = w.water_test_id
    ) g
    where w.drive_id = $1 order by w.tested_at, w.name, g.number nulls first`,
};

/** Readings at the end of each step. The depth to water is left out: the section is under pressure. */
const IPRT: GroupQuery = {
  name: 'IPRT',
  headings: headings(...TEST_KEY, ['IPRT_TIME', 'hh:mm:ss', 'T'], ['IPRT_REM', '', 'X']),
  sql: `select ${TEST_ID}, s.number::text as "IPRG_STG", to_char(make_interval(secs => round(s.duration_min * 60)::float8), 'HH24:MI:SS') as "IPRT_TIME",
      'gauge ' || s.gauge_bar || ' bar; friction ' || s.friction_bar || ' bar; static column ' || w.static_bar || ' bar; groundwater ' || w.groundwater_bar ||
        ' bar; net ' || s.net_bar || ' bar; flow ' || s.flow_l_per_min || ' l/min' as "IPRT_REM"
    from water_test_step s join water_test w on w.water_test_id = s.water_test_id where s.drive_id = $1 order by w.tested_at, w.name, s.number`,
};

const FRAC: GroupQuery = {
  name: 'FRAC',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['FRAC_FROM', 'm', PLACE],
    ['FRAC_TO', 'm', PLACE],
    ['FRAC_SET', '', 'X'],
    ['FRAC_IMAX', 'mm', 'XN'],
    ['FRAC_IAVE', 'mm', 'XN'],
    ['FRAC_IMIN', 'mm', 'XN'],
    ['FRAC_REM', '', 'X'],
  ),
  sql: `select drive_code as "LOCA_ID", first_m::text as "FRAC_FROM", last_m::text as "FRAC_TO", set_label as "FRAC_SET",
      round(greatest_spacing_m * 1000)::text as "FRAC_IMAX", round(mean_spacing_m * 1000)::text as "FRAC_IAVE", round(least_spacing_m * 1000)::text as "FRAC_IMIN",
      'mean of ' || spacing_count || ' spacings, not modal' as "FRAC_REM"
    from discontinuity_spacing where drive_id = $1 order by set_label nulls last`,
};

const DISC: GroupQuery = {
  name: 'DISC',
  headings: headings(
    ['LOCA_ID', '', 'ID'],
    ['DISC_TOP', 'm', PLACE],
    ['DISC_BASE', 'm', PLACE],
    ['FRAC_SET', '', 'X'],
    ['DISC_NUMB', '', 'X'],
    ['DISC_TYPE', '', 'PA'],
    ['DISC_DIP', 'deg', 'X'],
    ['DISC_DIR', 'deg', 'X'],
    ['DISC_RGH', '', 'X'],
    ['DISC_APT', 'mm', 'XN'],
    ['DISC_INFM', '', 'X'],
    ['DISC_PERS', 'm', PLACE],
    ['DISC_WETH', '', 'X'],
    ['DISC_SEEP', '', 'X'],
    ['DISC_REM', '', 'X'],
  ),
  sql: `select drive_code as "LOCA_ID", at_m::text as "DISC_TOP", null as "DISC_BASE", set_label as "FRAC_SET", name as "DISC_NUMB",
      upper(left(type, 1)) || replace(substr(type, 2), '_', ' ') as "DISC_TYPE", trim_scale(dip_deg)::text as "DISC_DIP",
      trim_scale(dip_direction_deg)::text as "DISC_DIR", replace(roughness, '_', ' ') as "DISC_RGH", trim_scale(aperture_mm)::text as "DISC_APT",
      concat_ws(' ', infilling, infilling_material) as "DISC_INFM", persistence_m::text as "DISC_PERS", weathering as "DISC_WETH", seepage as "DISC_SEEP",
      concat_ws('; ', 'spacing ' || trim_scale(spacing_m) || ' m', 'at ' || trim_scale(position_deg) || ' deg clockwise from the crown', 'mapped by ' || mapped_by,
        remark) as "DISC_REM"
    from discontinuity_row where drive_id = $1 order by at_m, name`,
};

/** In file order. */
export const GROUPS: readonly GroupQuery[] = [
  LOCA,
  HORN,
  GEOL,
  DREM,
  DOBS,
  FLSH,
  WSTG,
  IPRG,
  IPRT,
  FRAC,
  DISC,
];
