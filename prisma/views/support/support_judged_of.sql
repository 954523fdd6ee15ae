-- The shortfall of strokes against the support demanded of them, and what stretches between rising bounds (driven metres) require, contain and
-- lack: each line is laid once, over the cuts of both, and what lies between two cuts is summed by strokes and by stretches. Null bounds: strokes
-- only. Rows by kind:
--   stroke: a stroke, item and zone with less than is demanded per metre. missing is the shortfall of the stroke: of pieces whole ones, by
--     missing_pieces; otherwise all of it, if it exceeds the tolerance. Without item: length of the stroke that is not assessed.
--   gap: a stroke, item and zone touched by a gap in the spacing; missing: its pieces whose last allowed position lies in the stroke.
--   start: a place between strokes where an assessment can start later; cell is the stroke that begins there. Without item: the place. With an
--     item: the part of a piece that is carried across it (missing), and its tolerance.
--   cell: a stretch, part, item and zone. missing is the local shortfall there, from strokes and gaps: for gaps by position, for strokes
--     spread over them, pieces evenly. Cells sum to the same over any bounds.
-- Strokes are those of support_stroke, whole, whether due yet or not: a surplus in one does not make up for a shortfall in another. judged_stroke
-- selects those to assess: all of them here, none in schema report_kept, where their assessment is cached (kept_shortfall_of), and in schema
-- report_since those beyond the place up to which the cache is valid, numbered from 1.
-- Demands and missing pieces by spacing are not part of a stroke's shortfall per metre.
--
-- Part. due: the place is farther behind the face than the zone's limit that governs it; without a limit, anywhere behind the face.
-- not_yet_due: closer. not_assessed: driven, but neither a design section nor a class with a standard states a demand; a row without item gives
-- its length, including places where one of the classes considered there lacks a standard: the demand of the others is compared there all the
-- same. ahead_of_face: not driven yet.
-- Required = quantity per metre × length, exact (only multiplied: a quotient would be rounded). Installed lines are apportioned along their
-- interval, pieces by position: both sum over any bounds. A line at one place belongs to the segment that begins there; at the end of the drive
-- to the last one.
-- Everything is summed by numbers: segments, strokes, stretches, demands, and a slot for each item and zone. Names are looked up for the few rows
-- of the answer.
create or replace function support_judged_of(drive_id int, bounds numeric[])
returns table (
  kind text, cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable rows 20000 begin atomic
  with stroke as materialized (
    select judged_stroke(support_judged_of.drive_id, support_judged_of.bounds) as bounds
  ), mm as materialized ( -- binary search needs elements of fixed width: integer millimetres
    select array(select (m * 1000)::int as mm from unnest((select bounds from stroke)) m order by mm) as stroke,
      array(select (m * 1000)::int as mm from unnest(support_judged_of.bounds) m order by mm) as asked
  ), last_of as materialized (
    select cardinality(stroke) as stroke, cardinality(asked) as asked, greatest(1, least(40, cardinality(stroke) / 100)) as step from mm
  ), segment as materialized ( -- stroke, cell: 0 outside of them
    select s.segment, s.from_mm, s.to_mm, s.is_driven, s.is_assessed, s.is_known, s.demand, s.design_section_id, s.standard_support_ids,
      s.ground_class_ids, s.bases,
      case when s.stroke < (select stroke from last_of) then s.stroke else 0 end as stroke,
      case when s.cell < (select asked from last_of) then s.cell else 0 end as cell
    from (
      select g.*, width_bucket(g.from_mm, (select stroke from mm)) as stroke, width_bucket(g.from_mm, (select asked from mm)) as cell
      from (
        select s.segment, s.from_mm, s.to_mm, s.is_driven, s.is_assessed, s.is_known, s.demand, s.design_section_id, s.standard_support_ids,
          s.ground_class_ids, s.bases
        from stroke cross join lateral support_segment(support_judged_of.drive_id, stroke.bounds || support_judged_of.bounds) s
        offset 0
      ) g
      offset 0
    ) s
  ), cut as materialized ( -- without nulls: subscripting an array with nulls scans it
    select array_agg(from_mm order by segment) || max(to_mm) as mm, max(segment) as last, min(from_mm) * 0.001 as low_m, max(to_mm) * 0.001 as high_m,
      array_agg(case when is_assessed then stroke else 0 end order by segment) as strokes, array_agg(demand order by segment) as demands,
      array_agg(from_mm::float8 order by segment) || max(to_mm)::float8 as marks -- the same as mm, searched without a function call per step
    from segment
  ), due as materialized (
    select l.zone::text as zone, l.from_mm, l.to_mm, l.due_to_mm, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.due_to_mm * 0.001 as due_to_m
    from support_limit_along(support_judged_of.drive_id) l
  ), zone as materialized (
    select d.zone, row_number() over (order by d.zone)::int as number,
      coalesce(range_agg(int4range(d.from_mm, d.due_to_mm)) filter (where d.due_to_mm > d.from_mm), '{}') as due_mm
    from due d group by d.zone
  ), tile as materialized ( -- by zone and segment, the cell times four with the part. 0: not yet due, 1: due, 2: not assessed, 3: ahead of the face
    select array_agg(array(
        select s.cell * 4 + case when not s.is_driven then 3 when not s.is_assessed then 2 when z.due_mm @> int4range(s.from_mm, s.to_mm) then 1 else 0 end
        from segment s order by s.segment) order by z.number) as parts
    from zone z
  ), demand as materialized ( -- few: each demand is looked up once
    select d.*, support_basis_text(d.design_section_id, d.ground_class_ids, d.bases) as words
    from (select distinct on (demand) demand, is_assessed, design_section_id, standard_support_ids, ground_class_ids, bases from segment
      where is_driven order by demand) d
  ), list as materialized ( -- is_spaced: by spacing alone; its pieces are required where they are, and where one is missing
    select d.demand, i.support_item_id, i.zone, coalesce(max(i.quantity_per_m), 0) as quantity_per_m,
      coalesce(max(i.tolerance_percent) filter (where i.quantity_per_m is not null), 0) as tolerance_percent, max(i.quantity_per_m) is null as is_spaced
    from demand d cross join lateral support_demand_of(d.design_section_id, d.standard_support_ids) i
    where d.is_assessed
    group by d.demand, i.support_item_id, i.zone
  ), slot as materialized ( -- items and zones of the project
    select i.id as support_item_id, z.zone, z.number as zone_number, row_number() over (order by i.id, z.number)::int as slot, i.unit = 'nr' as is_counted,
      -- only for these can a stroke have a shortfall per metre
      exists (select from list l where l.support_item_id = i.id and l.zone = z.zone and not l.is_spaced) as is_by_metre
    from drive d join support_item i on i.project_id = d.project_id cross join zone z
    where d.id = support_judged_of.drive_id
  ), key as materialized ( -- stroke, stretch with part, whether it is spaced there, and slot combined into one number: the step size of each
    select count(*) + 1 as tile, (count(*) + 1) * 8 * ((select asked from last_of) + 1) as stroke from slot
  ), listed as materialized (
    select l.demand, s.slot, l.zone, l.quantity_per_m, l.tolerance_percent, l.is_spaced from list l
      join slot s on s.support_item_id = l.support_item_id and s.zone = l.zone
  ), place_of as materialized (
    select (drive_length(d.start_chainage_m, d.end_chainage_m) * 1000)::int as length_mm from drive d where d.id = support_judged_of.drive_id
  ), first_line as materialized ( -- where the first begins that reaches into what is cut
    select coalesce(min(f.from_m), (select low_m from cut)) as from_m
    from (
      select s.from_m from support_installed s where s.drive_id = support_judged_of.drive_id and s.span is not null and s.span @> (select low_m from cut)
      offset 0 -- not by the first of all that begin
    ) f
  ), line as ( -- quantities in thousandths of the unit
    select r.*, width_bucket(r.from_mm, (select marks from cut)) as first,
      case when r.to_mm > r.from_mm then width_bucket(r.to_mm - 1, (select marks from cut)) end as last
    from (
      select k.slot, k.zone_number, k.is_by_metre, k.is_counted, (s.quantity * 1000)::bigint as quantity, s.positions_m,
        (s.from_m * 1000)::int as from_mm, (s.to_m * 1000)::int as to_mm
      from support_installed s join slot k on k.support_item_id = s.support_item_id and k.zone = s.zone
      where s.drive_id = support_judged_of.drive_id and s.from_m <= (select high_m from cut) and s.to_m >= (select low_m from cut)
        and is_looked_for(s.from_m, (select from_m from first_line))
      offset 0
    ) r
    offset 0
  ), piece as ( -- a line at one place belongs to the segment that begins there, at the very end of the drive to the last one, beyond them to none
    select l.slot, l.zone_number, l.is_by_metre, l.is_counted, l.quantity, l.positions_m, l.from_mm, l.to_mm, l.first = coalesce(l.last, l.first) as is_whole,
      generate_series(
        case when l.last is not null then greatest(l.first, 1)
          when l.first > (select last from cut) and l.from_mm = (select length_mm from place_of) then (select last from cut)
          else l.first end,
        case when l.last is null and l.first < 1 then -1 else least(coalesce(l.last, l.first), (select last from cut)) end) as segment
    from line l
  ), share as (
    -- The cuts are columns, so that the share is computed inline and not by a function call. The last condition is always true: it makes the planner expect
    -- few pieces per line instead of a thousand.
    select p.slot, p.is_counted, p.quantity, p.positions_m, p.from_mm, p.to_mm, p.is_whole,
      case when p.is_by_metre then (select strokes from cut)[p.segment] else 0 end as stroke,
      case when (select asked from last_of) > 0 then (select parts from tile)[p.zone_number][p.segment] else 0 end as tile,
      (select exists (select from list where is_spaced)) and ((select demands from cut)[p.segment], p.slot) in (select l.demand, l.slot from listed l
        where l.is_spaced) as is_spaced,
      case when not p.is_whole then (select mm from cut)[p.segment] end as cut_from_mm,
      case when not p.is_whole then (select mm from cut)[p.segment + 1] end as cut_to_mm
    from piece p
    where p.segment = abs(p.segment)
    offset 0
  ), part as (
    select s.stroke * (select stroke from key) + (s.tile * 2 + s.is_spaced::int) * (select tile from key) + s.slot as key,
      case when s.is_whole then s.quantity else laid_before(s.quantity, s.is_counted, s.from_mm, s.to_mm, s.positions_m, s.cut_to_mm)
        - laid_before(s.quantity, s.is_counted, s.from_mm, s.to_mm, s.positions_m, s.cut_from_mm) end as quantity
    from share s
    offset 0
  ), laid as materialized ( -- sums of int need no allocated state, so the digits above and below the ninth are summed separately
    select (k.key / (select stroke from key))::int as stroke, (k.key % (select stroke from key) / (select tile from key))::int as tile,
      (k.key % (select tile from key))::int as slot, k.quantity
    from (
      select p.key, sum((p.quantity / 1000000000)::int) * 1000000000 + sum((p.quantity % 1000000000)::int) as quantity
      from part p
      group by p.key
      offset 0
    ) k
    where k.quantity > 0
  ), gap as materialized (
    select g.* from support_gap_of(support_judged_of.drive_id) g
  ), place as materialized (
    select (select strokes from cut)[p.segment] as stroke, (select parts from tile)[s.zone_number][p.segment] as tile, s.slot, l.is_spaced
    from gap g
    cross join lateral (select width_bucket(mm, (select mm from cut)) as segment from unnest(g.places_mm) mm) p
    join slot s on s.support_item_id = g.support_item_id and s.zone = g.zone
    join listed l on l.demand = (select demands from cut)[p.segment] and l.slot = s.slot
    where p.segment between 1 and (select last from cut)
  ), part_of_stroke as materialized ( -- most strokes have one demand, and are not sorted with those of several
    select k.*, count(*) over (partition by k.stroke) as parts
    from (
      select stroke, demand, sum(to_mm - from_mm) as length_mm, min(from_mm) as from_mm, max(to_mm) as to_mm from segment where is_assessed
        and stroke > 0 group by stroke, demand
    ) k
  ), metre as materialized ( -- the items of all demands per metre in one array, and which part of it belongs to each demand
    select array_agg(l.slot order by l.demand, l.slot) as slots, array_agg(l.quantity_per_m * 0.001 order by l.demand, l.slot) as per_mm,
      array_agg(l.quantity_per_m * 0.00001 * l.tolerance_percent order by l.demand, l.slot) as tolerated_per_mm
    from listed l where not l.is_spaced
  ), of_demand as materialized (
    select l.demand, min(l.n)::int as first, max(l.n)::int as last
    from (select l.demand, row_number() over (order by l.demand, l.slot) as n from listed l where not l.is_spaced) l group by l.demand
  ), demanded as ( -- what is demanded by the metre
    select k.stroke, k.parts, k.length_mm, k.from_mm, k.to_mm, k.demand, generate_series(d.first, d.last) as n from part_of_stroke k
      join of_demand d on d.demand = k.demand
  ), of_stroke as (
    select k.stroke, (select slots from metre)[k.n] as slot, k.length_mm * (select per_mm from metre)[k.n] as required,
      k.length_mm * (select tolerated_per_mm from metre)[k.n] as tolerated,
      k.from_mm, k.to_mm, k.demand, k.demand as other_demand
    from demanded k where k.parts = 1
    union all
    select k.stroke, k.slot, sum(k.length_mm * (select per_mm from metre)[k.n]), sum(k.length_mm * (select tolerated_per_mm from metre)[k.n]),
      min(k.from_mm), max(k.to_mm), min(k.demand), max(k.demand)
    from (select k.*, (select slots from metre)[k.n] as slot from demanded k where k.parts > 1 offset 0) k
    group by k.stroke, k.slot
  ), in_stroke as ( -- a stroke may lie in several stretches, and be due in part
    select k.key, sum((k.quantity / 1000000000)::int) * 1000000000 + sum((k.quantity % 1000000000)::int) as quantity
    from (select h.stroke * (select tile from key) + h.slot as key, h.quantity from laid h where h.stroke > 0 offset 0) k
    group by k.key
  ), spaced_in_stroke as materialized ( -- installed and missing pieces where a spacing is demanded
    select k.key, sum(k.required) as required, sum(k.gap_missing) as gap_missing
    from (
      select h.stroke * (select tile from key) + h.slot as key, h.quantity * 0.001 as required, 0 as gap_missing
      from laid h where h.tile % 2 = 1 and h.stroke > 0
      union all
      select p.stroke * (select tile from key) + p.slot, case when p.is_spaced then 1 else 0 end, 1 from place p where p.stroke > 0
    ) k
    group by k.key
  ), stood as materialized (
    select o.stroke, o.slot, o.from_mm, o.to_mm, o.demand, o.other_demand, o.required + coalesce(s.required, 0) as required, o.tolerated,
      coalesce(i.quantity, 0) * 0.001 as installed,
      coalesce(s.gap_missing, 0) as gap_missing
    from (select o.*, o.stroke * (select tile from key) + o.slot as key from of_stroke o offset 0) o
    left join in_stroke i on i.key = o.key
    left join spaced_in_stroke s on s.key = o.key
  ), carried as materialized (
    select k.slot, c.carried, c.tolerated
    from carried_of(support_judged_of.drive_id) c join slot k on k.support_item_id = c.support_item_id and k.zone = c.zone
  ), pieces as (
    select s.slot, array_agg(s.stroke order by s.stroke) as strokes, array_agg(s.required - s.installed - s.gap_missing order by s.stroke) as lacks,
      array_agg(s.tolerated order by s.stroke) as tolerated
    from stood s
    where s.slot in (select slot from slot where is_counted)
    group by s.slot
    having bool_or(s.required - s.installed - s.gap_missing > 0) or s.slot in (select slot from carried)
  ), walked as materialized (
    select p.slot, m.*
    from pieces p
    left join carried c on c.slot = p.slot
    cross join lateral missing_pieces(p.strokes, p.lacks, p.tolerated, coalesce(c.carried, 0), coalesce(c.tolerated, 0), (select step from last_of)) m
  ), lacking as (
    select w.slot, w.cell as stroke, w.missing + 0.000 as missing
    from walked w where w.missing > 0
    union all
    select s.slot, s.stroke, s.required - s.installed
    from stood s where s.slot in (select slot from slot where not is_counted) and s.required - s.installed > s.tolerated
  ), judged as materialized (
    select s.stroke, k.slot, k.support_item_id, k.zone, k.is_counted, s.required, s.tolerated, s.installed,
      round(l.missing, greatest(3, min_scale(l.missing))) as missing, s.from_mm, s.to_mm, s.demand, s.other_demand,
      s.from_mm * 0.001 as demanded_from_m, s.to_mm * 0.001 as demanded_to_m
    from lacking l
    join stood s on s.stroke = l.stroke and s.slot = l.slot
    join slot k on k.slot = l.slot
  ), short as materialized ( -- shortfalls of strokes that overlap the requested stretches
    select j.slot, j.is_counted, j.zone, j.missing, j.demanded_from_m, j.demanded_to_m, j.from_mm, j.to_mm
    from judged j
    where j.from_mm < ((select asked from mm))[(select asked from last_of)] and j.to_mm > ((select asked from mm))[1]
    union all
    select k.slot, k.is_counted, k.zone, b.missing, b.demanded_from_m, b.demanded_to_m, (b.demanded_from_m * 1000)::int, (b.demanded_to_m * 1000)::int
    from kept_shortfall_of(support_judged_of.drive_id) b
    join slot k on k.support_item_id = b.support_item_id and k.zone = b.zone
    where (select asked from last_of) > 0 -- without stretches they are not read
      and b.demanded_from_m < ((select asked from mm))[(select asked from last_of)] * 0.001 and b.demanded_to_m > ((select asked from mm))[1] * 0.001
  ), spread as ( -- the part of the strokes' shortfalls that falls into each stretch and part
    select width_bucket((at.m * 1000)::int, (select asked from mm)) as cell, case when at.m < d.due_to_m then 1 else 0 end as part, j.slot, 1.000 as missing
    from short j
    cross join lateral generate_series(1, j.missing::int) n
    cross join lateral (select trunc(j.demanded_from_m + (2 * n - 1) * (j.demanded_to_m - j.demanded_from_m) / (2 * j.missing), 3) as m) at
    join due d on d.zone = j.zone and at.m >= d.from_m and at.m < d.to_m
    where j.is_counted and at.m >= ((select asked from mm))[1] * 0.001 and at.m < ((select asked from mm))[(select asked from last_of)] * 0.001
    union all
    select t.cell, t.part, j.slot, share.high - share.low
    from short j
    cross join lateral (
      select b.cell, d.part, greatest(j.demanded_from_m, b.from_m, d.from_m) as from_m, least(j.demanded_to_m, b.to_m, d.to_m) as to_m
      from (
        select n as cell, ((select asked from mm))[n] * 0.001 as from_m, ((select asked from mm))[n + 1] * 0.001 as to_m
        from generate_series(greatest(width_bucket(j.from_mm, (select asked from mm)), 1), least(width_bucket(j.to_mm - 1, (select asked from mm)),
          (select asked from last_of) - 1)) n
      ) b
      cross join (
        select zone, 1 as part, from_m, least(to_m, due_to_m) as to_m from due
        union all
        select zone, 0, greatest(from_m, due_to_m), to_m from due
      ) d
      where d.zone = j.zone
    ) t
    cross join lateral (
      select case when t.from_m = j.demanded_from_m then 0 else round(j.missing * (t.from_m - j.demanded_from_m) / (j.demanded_to_m - j.demanded_from_m), 3)
          end as low,
        case when t.to_m = j.demanded_to_m then j.missing else round(j.missing * (t.to_m - j.demanded_from_m) / (j.demanded_to_m - j.demanded_from_m), 3)
          end as high
    ) share
    where not j.is_counted and t.to_m > t.from_m
  ), of_cell as ( -- part 0: not yet due, 1: due
    select k.cell, k.part, l.slot, k.length_mm * 0.001 as length_m, k.length_mm * l.quantity_per_m * 0.001 as required,
      k.length_mm * l.quantity_per_m * 0.001 * l.tolerance_percent * 0.01 as tolerated, 0.000 as installed, 0.000 as missing, k.demand
    from (
      select s.cell, z.zone, (select parts from tile)[z.number][s.segment] % 4 as part, s.demand, sum(s.to_mm - s.from_mm) as length_mm
      from segment s cross join zone z
      where s.is_assessed and s.cell > 0
      group by 1, 2, 3, 4
    ) k
    join listed l on l.demand = k.demand and l.zone = k.zone
  ), entry as (
    select * from of_cell
    union all
    select h.tile / 8, h.tile / 2 % 4, h.slot, 0.000, case when h.tile % 2 = 1 and h.tile / 2 % 4 < 2 then h.quantity else 0.000 end, 0.000, h.quantity,
      0.000, null
    from (
      select (k.key / (select tile from key))::int as tile, (k.key % (select tile from key))::int as slot,
        (sum((k.quantity / 1000000000)::int) * 1000000000 + sum((k.quantity % 1000000000)::int)) * 0.001 as quantity
      from (select h.tile * (select tile from key) + h.slot as key, h.quantity from laid h where h.tile >= 8 offset 0) k
      group by k.key
    ) h
    union all
    select p.tile / 4, p.tile % 4, p.slot, 0.000, count(*) filter (where p.is_spaced), 0.000, 0.000, count(*) * 1.000, null from place p
      where p.tile >= 4 group by p.tile, p.slot
    union all
    select cell, 2, null, sum(to_mm - from_mm) * 0.001, 0.000, 0.000, 0.000, 0.000, demand
    from segment where is_driven and not is_known and cell > 0 group by cell, demand
    union all
    select s.cell, s.part, s.slot, 0.000, 0.000, 0.000, 0.000, s.missing, null from spread s
  ), total as materialized (
    select cell, part, slot, sum(length_m) as length_m, sum(required) as required, sum(tolerated) as tolerated, sum(installed) as installed,
      sum(missing) as missing, min(demand) as demand, max(demand) as other_demand, count(demand) as demands
    from entry group by cell, part, slot
  ), pair as materialized ( -- most stretches with several demands have two
    select p.demand, p.other_demand, (select string_agg(distinct d.words, '; ') from demand d where d.demand in (p.demand, p.other_demand)) as words
    from (select distinct demand, other_demand from total where demands = 2 and slot is not null) p
  ), not_assessed as materialized (
    select s.cell, s.stroke, s.demand, sum(s.to_mm - s.from_mm) * 0.001 as length_m
    from segment s where s.is_driven and not s.is_known group by s.cell, s.stroke, s.demand
  )
  select 'cell' as kind, t.cell, ((select asked from mm))[t.cell] * 0.001 as from_m, ((select asked from mm))[t.cell + 1] * 0.001 as to_m,
    (array['not_yet_due', 'due', 'not_assessed', 'ahead_of_face'])[t.part + 1] as part,
    k.support_item_id, k.zone, t.length_m, round(t.required, greatest(3, min_scale(t.required))) as required,
    round(t.tolerated, greatest(3, min_scale(t.tolerated))) as tolerated,
    t.installed, t.missing, null as short_from_m,
    case when t.demand = t.other_demand then (select d.words from demand d where d.demand = t.demand)
      when t.demands = 2 and t.slot is not null then p.words
      when t.demand <> t.other_demand and t.slot is not null then (
        select string_agg(distinct d.words, '; ')
        from generate_series(width_bucket(((select asked from mm))[t.cell], (select mm from cut)), width_bucket(((select asked from mm))[t.cell + 1] - 1,
          (select mm from cut))) n
        join demand d on d.demand = (select demands from cut)[n]
        where (select parts from tile)[k.zone_number][n] % 4 = t.part and (d.demand, t.slot) in (select l.demand, l.slot from listed l))
      when t.demand <> t.other_demand then (select string_agg(distinct d.words, '; ') from not_assessed n join demand d on d.demand = n.demand
        where n.cell = t.cell) end as rests_on,
    null as demanded_from_m, null as demanded_to_m
  from total t
  left join slot k on k.slot = t.slot
  left join pair p on p.demand = t.demand and p.other_demand = t.other_demand
  union all
  select 'stroke', j.stroke, ((select stroke from mm))[j.stroke] * 0.001, ((select stroke from mm))[j.stroke + 1] * 0.001, null, j.support_item_id, j.zone,
    null,
    round(j.required, greatest(3, min_scale(j.required))),
    round(j.tolerated, greatest(3, min_scale(j.tolerated))), j.installed, j.missing, ((select stroke from mm))[j.stroke] * 0.001,
    case when j.demand = j.other_demand then (select d.words from demand d where d.demand = j.demand) else (
      select string_agg(distinct d.words, '; ')
      from generate_series(width_bucket(j.from_mm, (select mm from cut)), width_bucket(j.to_mm - 1, (select mm from cut))) n
      join demand d on d.demand = (select demands from cut)[n]
      where (d.demand, j.slot) in (select l.demand, l.slot from listed l where not l.is_spaced)) end,
    j.demanded_from_m, j.demanded_to_m
  from judged j
  union all
  select 'stroke', n.stroke, ((select stroke from mm))[n.stroke] * 0.001, ((select stroke from mm))[n.stroke + 1] * 0.001, null, null, null,
    sum(n.length_m), 0.000, 0.000, 0.000, 0.000,
    ((select stroke from mm))[n.stroke] * 0.001, string_agg(distinct d.words, '; '), null, null
  from not_assessed n join demand d on d.demand = n.demand
  where n.stroke > 0
  group by n.stroke
  union all
  select 'gap', k.stroke, ((select stroke from mm))[k.stroke] * 0.001, ((select stroke from mm))[k.stroke + 1] * 0.001, null, g.support_item_id,
    g.zone::text, 0.000, 0.000,
    0.000, 0.000, (select count(*) from unnest(g.places_mm) p where p >= ((select stroke from mm))[k.stroke]
      and p < ((select stroke from mm))[k.stroke + 1]) + 0.000,
    g.places_mm[1] * 0.001, g.rests_on, null, null
  from gap g
  cross join lateral generate_series(width_bucket(floor(g.from_m * 1000)::int, (select stroke from mm)),
    least(width_bucket(greatest(ceil(g.to_m * 1000)::int - 1, floor(g.from_m * 1000)::int), (select stroke from mm)),
      (select stroke from last_of) - 1)) k(stroke)
  union all
  select 'start', n + 1, ((select stroke from mm))[n + 1] * 0.001, null, null, null, null, null, null, null, null, null, null, null, null, null
  from generate_series((select step from last_of), (select stroke from last_of) - 1, (select step from last_of)) n
  union all
  select 'start', w.cell + 1, ((select stroke from mm))[w.cell + 1] * 0.001, null, null, k.support_item_id, k.zone, null, null, w.allowed, null, w.carried,
    null, null, null, null
  from walked w join slot k on k.slot = w.slot
  where w.carried > 0 and w.cell % (select step from last_of) = 0;
end;

comment on function support_judged_of(int, numeric[]) is
  'What strokes of a drive lack of the support demanded of them (kind stroke and gap; start: see missing_pieces), and required against installed support between rising bounds '
  '(driven metres), by stretch, part, item and zone (kind cell; null bounds: none), in the item''s unit. See support_lacking_of and support_cell_of. '
  'Decision support; docs/calculations.md gives the rules.';
