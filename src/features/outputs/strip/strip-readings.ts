import type { Window } from '../../../common/api/chainage-window.js';
import { readJson, type Statements } from '../../../common/database/database.js';
import { lastChange, momentAsked } from '../../../common/moment-asked.js';
import { scope } from '../../../common/database/scope.js';
import { sharedText } from '../../../common/work/shared-text.js';
import { mapInTurns } from '../../../common/work/turns.js';
import type { Judged, OverJudgement } from '../../support/missing-support/judgement-keeper.service.js';
import { readHead, readMissing } from '../../support/missing-support/missing-support.service.js';
import type { Head, RowsName, StripTexts } from './strip-data.js';

const STRETCH = `from_chainage_m::float8 as "fromM", to_chainage_m::float8 as "toM"`;
const PLACE = `chainage_m::float8 as "fromM", chainage_m::float8 as "toM"`;

/** $1: the drive; rows that touch [$2, $3) in driven metres. */
const TOUCHING = `drive_id = $1 and to_m > $2::numeric and from_m < $3::numeric`;
/** Including those at a single place. */
const METRES = `drive_id = $1 and (to_m > $2::numeric or from_m >= $2::numeric) and from_m < $3::numeric`;

/** $1, $2: codes of project and drive; $3, $4: chainages of the ends; $5: most rows of a kind, in addition to those with a remark. */
const listed = (from: string, columns: string, sums: string): string => `with e as materialized (
    select *, row_number() over (partition by record order by from_m, reference) as place,
      count(*) over (partition by record)::int as count, ${sums} as sum from ${from})
  select e.record, e.from_chainage_m::float8 as "fromM", e.to_chainage_m::float8 as "toM", chainage_text(e.from_chainage_m) as from,
    chainage_text(e.to_chainage_m) as to, e.reference, e.description, e.quantity::text as quantity, e.unit, e.remark,
    e.place <= $5 as "isListed", e.count, e.sum::text as sum, ${columns}
  from e join project p on p.code = $1 where e.place <= $5 or e.remark is not null
  order by e.record, e.place`;

const clock = (moment: string): string => `to_char(timezone(p.time_zone, ${moment}), 'YYYY-MM-DD HH24:MI')`;

const ENTRIES = listed(
  'as_built($1, $2, $3::numeric, $4::numeric)',
  `null as state, e.zone, e.shift_date || ' ' || e.shift_name as shift, null as by, ${clock('coalesce(e.ended_at, e.started_at)')} as at,
    e.arc_from_deg::float8 || ' to ' || e.arc_to_deg::float8 as arc, e.thickness_mm::text as thickness, e.torque_ratio as "torqueRatio"`,
  `case when record in ('stroke', 'ground') then sum(quantity) over (partition by record) end`,
);

const REGISTERS = listed(
  `as_built_register($1, $2, $3::numeric, $4::numeric) where record not in ('support_required', 'attachment')`,
  `e.state, null as zone, null as shift, e.recorded_by as by, ${clock('e.recorded_at')} as at, null as arc, null as thickness, null as "torqueRatio"`,
  'null::numeric',
);

/** $1: the drive; $2, $3: driven metres, lower bound inclusive, upper bound exclusive. */
const OF_DRIVE: Partial<Record<RowsName, string>> = {
  logs: `select ${STRETCH}, name, q, q_class as "qClass", q_lowest as "qLowest", q_highest as "qHighest", rmr, rmr_class as "rmrClass", gsi::text as gsi,
    water_state as "waterState", water_inflow_l_per_min_per_10m as inflow from ground_log where ${TOUCHING} order by from_m, name`,
  discontinuities: `select ${PLACE}, name, type, dip_deg::float8 as dip, dip_direction_deg::float8 as "dipDirection", set_label as set,
    position_deg::float8 as position from discontinuity_row where drive_id = $1 and at_m >= $2::numeric and at_m < $3::numeric order by chainage_m, name`,
  inflow: `select ${STRETCH}, name, inflow_l_per_min::text as inflow, method from inflow where ${TOUCHING} order by from_chainage_m, name`,
  tests: `select t.name, t.representative_lu as lugeon, place.chainage_m::float8 as "fromM", place.chainage_m::float8 as "toM"
    from water_test t join drive d on d.id = t.drive_id left join probe_hole h on h.drive_id = t.drive_id and h.name = t.hole
    cross join lateral (select coalesce(t.collar_chainage_m, chainage_of_driven(d.start_chainage_m, d.direction, h.collar_m)) as chainage_m) place
    cross join lateral (select driven_of_chainage(d.start_chainage_m, d.direction, place.chainage_m) as at_m) driven
    where t.drive_id = $1 and driven.at_m >= $2::numeric and driven.at_m < $3::numeric order by place.chainage_m, t.name`,
  overbreak: `select ${STRETCH}, name, cause, volume_m3::text as volume, max_depth_m::float8 as depth from overbreak where ${TOUCHING} order by from_m, name`,
  holes: `select chainage_of_driven(d.start_chainage_m, d.direction, r.collar_m)::float8 as "fromM", chainage_of_driven(d.start_chainage_m, d.direction, r.reach_m)::float8 as "toM", r.name,
      r.position_deg::float8 as position, h.look_out_deg::float8 as "lookOut", h.water_inflow_l_per_min::text as water, r.gives_cover as "givesCover", r.state
    from probe_hole_reading r join probe_hole h on h.id = r.probe_hole_id join drive d on d.id = r.drive_id
    where r.drive_id = $1 and (r.reach_m > $2::numeric or r.collar_m >= $2::numeric) and r.collar_m < $3::numeric order by r.collar_m, r.name`,
  grouting: `select ${STRETCH}, name, purpose, state, hole_count as holes, mass_kg::text as mass from grouting_round where ${TOUCHING} order by from_m, name`,
  strokes: `select ${STRETCH}, stroke_number as number, thrust_kn as thrust, penetration_mm_per_rev as penetration, torque_ratio as "torqueRatio"
    from stroke where ${TOUCHING} order by from_chainage_m`,
  files: `select ${STRETCH}, number, file_name as name, media_type as "mediaType", caption from attachment where ${METRES} order by number`,
};

/** $1: the drive; $2, $3: driven metres; $4: whether pieces are drawn individually. */
const SUPPORT = `select r.from_chainage_m::float8 as "fromM", r.to_chainage_m::float8 as "toM", r.item_code as item, r.kind, r.zone, r.unit, r.quantity::text as quantity,
    r.thickness_mm::text as thickness, r.arc_from_deg::float8 as "arcFrom", r.arc_to_deg::float8 as "arcTo",
    case when $4::boolean and r.positions_m is not null then (select array_agg(chainage_of_driven(d.start_chainage_m, d.direction, u.at)::float8 order by u.n) from unnest(r.positions_m) with ordinality u(at, n)) end as places,
    case when $4::boolean then r.arc_positions_deg end as arcs
  from support_row r join drive d on d.id = r.drive_id
  where r.drive_id = $1 and r.span && numrange($2::numeric, $3::numeric, '[]') and (r.to_m > $2::numeric or r.from_m >= $2::numeric) and r.from_m < $3::numeric
  order by r.from_m, r.item_code, r.support_installed_id`;

/** $1: the drive; $2, $3: its chainages, rising. */
const DAYS = `select ${STRETCH.replace('to_chainage_m', 'face_chainage_m')}, production_day::text as day, advance_m::text as advance from day_advance
  where drive_id = $1 and face_chainage_m is not null and greatest(from_chainage_m, face_chainage_m) > $2::numeric
    and least(from_chainage_m, face_chainage_m) < $3::numeric order by production_day`;

/** $1: the drive; $2, $3: driven metres. Shifts that bored, noted ground or installed support there, with their total advance. */
const SHIFTS = `select s.shift_date::text as date, s.shift_name as name, chainage_text(a.from_chainage_m) as from, chainage_text(a.face_chainage_m) as to, s.state,
    c.acceptance, s.digest
  from (select shift_id from shift_stroke where ${TOUCHING} union select shift_id from ground where ${TOUCHING}
    union select shift_id from support_row where drive_id = $1 and span && numrange($2::numeric, $3::numeric, '[]')) o
  join shift_sheet s on s.shift_id = o.shift_id and s.drive_id = $1 join shift_advance a on a.shift_id = o.shift_id and a.drive_id = $1
  join shift_acceptance c on c.shift_id = o.shift_id and c.drive_id = $1 order by s.starts_at`;

/** $1, $2: codes of project and drive; $3, $4: driven metres. */
const GROUND = `select ${STRETCH}, lithology, noted_class_code as noted, governing_class_code as "groundClass", contested_class_code as contested,
  contested_state as "contestedState", c.place from ground_strip($1, $2)
  left join (select code, (row_number() over (order by code) - 1)::int as place from ground_class where project_id = scope_project()) c on c.code = governing_class_code
  where to_m > $3::numeric and from_m < $4::numeric order by from_m`;

const head =
  (): string => `select p.name as "projectName", d.direction, trim_scale(d.bored_diameter_m)::text as "boredDiameterM", f.face_chainage_m::float8 as "faceM",
  chainage_text(f.face_chainage_m) as face, ${momentAsked('p.time_zone')} as "asOf", ${lastChange('p.time_zone')} as "lastChange",
  c.made_at as "changedAt", c.hash, to_char(timezone(p.time_zone, clock_timestamp()), 'YYYY-MM-DD') as made
  from drive d join project p on p.id = d.project_id join drive_progress f on f.drive_id = d.id
  left join lateral (select made_at, hash from change order by number desc limit 1) c on true where d.id = $1`;

/** Rows per part, each received and passed on as one text. */
const PART = 1000;

/** The rows of a query as JSON, in ordered parts. @param strip  `json_strip_nulls`: a third of a long list would be nulls */
const inParts = (sql: string, strip = ''): string => `select ${strip}(json_agg(s order by n))::text as json
  from (select s, row_number() over () as n from (${sql}) s) t group by (n - 1) / ${PART} order by (n - 1) / ${PART}`;

export interface StripReading {
  id: number;
  drive: string;
  window: Window;
  rows: ReadonlySet<RowsName>;
  /** Length of the intervals for required support. [m] */
  intervalM: number;
  /** Whether pieces of support are drawn individually. */
  isByPiece: boolean;
  /** Most rows of a kind in a table. */
  most: number;
}

/** The data of a strip and its tables: one statement per view, whatever the length. */
export const readStrip = async (
  statements: Statements,
  over: OverJudgement,
  { id, drive, window, rows, intervalM, isByPiece, most }: StripReading,
): Promise<{ head: Head; texts: StripTexts }> => {
  const { project, actor } = scope();
  const { lowM, highM, fromChainageM, toChainageM } = window;
  const [low, high] = [fromChainageM, toChainageM].toSorted((one, other) => Number(one) - Number(other));
  const texts: StripTexts = {};
  const read = async (name: RowsName, sql: string, ...parameters: unknown[]): Promise<void> => {
    if (!rows.has(name)) return;
    const strip = name === 'support' ? 'json_strip_nulls' : '';
    const parts = await statements.$queryRawUnsafe<{ json: string }[]>(inParts(sql, strip), ...parameters);
    texts[name] = await mapInTurns(parts, ({ json }) => sharedText(json));
  };
  const missing = async (): Promise<void> => {
    if (!rows.has('required') && !rows.has('sums')) return;
    const { judged } = await readHead(statements, id);
    const asking = { from: fromChainageM, to: toChainageM };
    const reading =
      (lengthM: string | null) =>
      (from: Judged): ReturnType<typeof readMissing> =>
        readMissing(statements, drive, { ...asking, lengthM }, from);
    for (const [name, lengthM] of [
      ['required', String(intervalM)],
      ['sums', null],
    ] as const)
      if (rows.has(name)) texts[name] = [sharedText((await over(id, judged, reading(lengthM))).text)];
  };
  const [found] = await Promise.all([
    readJson<Head>(statements, head(), id),
    read('days', DAYS, id, low, high),
    read('shifts', SHIFTS, id, lowM, highM),
    read('ground', GROUND, project, drive, lowM, highM),
    ...Object.entries(OF_DRIVE).map(([name, sql]) => read(name as RowsName, sql, id, lowM, highM)),
    read('support', SUPPORT, id, lowM, highM, isByPiece),
    read('entries', ENTRIES, project, drive, fromChainageM, toChainageM, most),
    read('registers', REGISTERS, project, drive, fromChainageM, toChainageM, most),
    missing(),
  ]);
  const [first] = found.rows();
  if (!first) throw new Error(`drive ${drive} is gone`);
  return { head: { ...first, project, drive, madeBy: actor }, texts };
};
