-- Required against installed, judged stroke by stroke: support that is over in one stroke does not make up for what lacks in another.
-- Strokes are those of support_stroke, whole, whether due yet or not. Rows by kind:
--   stroke: a stroke, item and zone that lacks what is demanded per metre. missing is what the stroke lacks: of pieces whole ones, by missing_pieces; else all of
--     it, where it is more than is tolerated. Without item: length of the stroke that is not assessed.
--   gap: a stroke, item and zone that a gap in the spacing touches; missing: the pieces of it whose last allowed place lies in the stroke.
--   cell: a stretch between two of the bounds, part, item and zone, for the bounds that were asked. missing is
--     the local shortfall there: of gaps by their places, of strokes spread over them, pieces evenly. Cells sum to the same over any bounds.
-- What is demanded and missing by gaps is no part of what a stroke lacks per metre.
--
-- Part. due: the place is farther behind the face than the zone's limit that rules it; without a limit, wherever it is behind the
-- face. not_yet_due: it is not. not_assessed: driven, and neither a design section nor a class with a standard says what is
-- demanded; a row without item gives its length, with that of places where a standard is lacking of one of the classes held of them:
-- what the others demand is compared there all the same. ahead_of_face: not driven yet.
-- Required = quantity per metre × length, exact (multiplied only: a quotient would be rounded). Installed lines are
-- apportioned along their interval, pieces by where each stands: both sum over any bounds. A line at one place belongs to the segment that begins there; at the very end of the drive to the last one.
--
-- Everything is summed by numbers: segments, strokes, cells, demands, and a slot for each item and zone. Words are looked up for the few rows of the answer.
create or replace function support_judged(drive_id int, bounds numeric[])
returns table (
  kind text, cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text)
language sql stable begin atomic
  with stroke as materialized (
    select support_stroke(support_judged.drive_id) as bounds
  ), mm as materialized ( -- halving needs elements of one width: whole millimetres
    select array(select (m * 1000)::int as mm from unnest((select bounds from stroke)) m order by mm) as stroke,
      array(select (m * 1000)::int as mm from unnest(support_judged.bounds) m order by mm) as asked
  ), span as materialized ( -- whole strokes from the start of the drive on, as what lacks of a piece is carried from stroke to stroke
    select coalesce(min(m) filter (where m >= (select asked[cardinality(asked)] from mm)), max(m)) as high_mm,
      (select asked[1] from mm) as asked_low_mm, (select asked[cardinality(asked)] from mm) as asked_high_mm
    from unnest((select stroke from mm)) m
  ), fine as materialized (
    select array(
      select m * 0.001 from (select m from unnest((select stroke from mm)) m where m <= (select high_mm from span) union select m from unnest((select asked from mm)) m) one
      order by m) as bounds
  ), segment as materialized ( -- of which stroke and which cell it is; null: of none
    select s.segment, s.from_mm, s.to_mm, s.is_driven, s.is_assessed, s.is_known, s.demand, s.design_section_id, s.standard_support_ids, s.ground_class_ids, s.bases,
      case when s.from_mm >= 0 and s.from_mm < (select high_mm from span) then width_bucket(s.from_mm, (select stroke from mm)) end as stroke,
      case when s.from_mm >= (select asked_low_mm from span) and s.from_mm < (select asked_high_mm from span) then width_bucket(s.from_mm, (select asked from mm)) end as cell
    from fine cross join lateral support_segment(support_judged.drive_id, fine.bounds) s -- a sub-select as argument would keep it from being inlined
  ), cut as materialized ( -- without nulls: subscripts of an array that has some walk it
    select array_agg(from_mm order by segment) || max(to_mm) as mm, max(segment) as last, min(from_mm) * 0.001 as low_m, max(to_mm) * 0.001 as high_m,
      array_agg(case when is_assessed then coalesce(stroke, 0) else 0 end order by segment) as strokes, array_agg(coalesce(cell, 0) order by segment) as cells, array_agg(demand order by segment) as demands
    from segment
  ), due as materialized (
    select l.zone::text as zone, l.from_mm, l.to_mm, l.due_to_mm, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.due_to_mm * 0.001 as due_to_m
    from support_limit_along(support_judged.drive_id) l
  ), zone_part as materialized ( -- of each segment. 0: not yet due, 1: due, 2: not assessed, 3: ahead of the face
    select z.zone, array(
        select case when not s.is_driven then 3 when not s.is_assessed then 2
          when exists (select from due where due.zone = z.zone and s.from_mm >= due.from_mm and s.from_mm < due.to_mm and s.to_mm <= due.due_to_mm) then 1 else 0 end
        from segment s order by s.segment) as parts
    from (select distinct zone from due) z
  ), demand as materialized ( -- few: what each demands is looked up once
    select d.*, support_basis_text(d.design_section_id, d.ground_class_ids, d.bases) as words
    from (select distinct on (demand) demand, is_assessed, design_section_id, standard_support_ids, ground_class_ids, bases from segment where is_driven order by demand) d
  ), list as materialized ( -- is_spaced: by spacing alone; its pieces are required where they stand, and where one is missing
    select d.demand, i.support_item_id, i.zone, coalesce(max(i.quantity_per_m), 0) as quantity_per_m,
      coalesce(max(i.tolerance_percent) filter (where i.quantity_per_m is not null), 0) as tolerance_percent, max(i.quantity_per_m) is null as is_spaced
    from demand d cross join lateral support_demand_of(d.design_section_id, d.standard_support_ids) i
    where d.is_assessed
    group by d.demand, i.support_item_id, i.zone
  ), slot as materialized ( -- items and zones of the project
    select i.id as support_item_id, z.zone, row_number() over (order by i.id, z.zone)::int as slot, i.unit = 'nr' as is_counted, z.parts,
      exists (select from list l where l.support_item_id = i.id and l.zone = z.zone and not l.is_spaced) as is_by_metre
    from drive d join support_item i on i.project_id = d.project_id cross join zone_part z
    where d.id = support_judged.drive_id
  ), listed as materialized (
    select l.demand, s.slot, l.zone, l.quantity_per_m, l.tolerance_percent, l.is_spaced from list l join slot s on s.support_item_id = l.support_item_id and s.zone = l.zone
  ), line as (
    select r.*, width_bucket(r.from_mm, (select mm from cut)) as first, case when r.to_mm > r.from_mm then width_bucket(r.to_mm - 1, (select mm from cut)) end as last
    from (
      select s.support_item_id, s.zone, s.quantity, case when s.unit = 'nr' then s.quantity end as pieces, s.from_m, s.to_m, s.positions_m,
        (s.from_m * 1000)::int as from_mm, (s.to_m * 1000)::int as to_mm
      from support_installed s
      where s.drive_id = support_judged.drive_id and s.from_m <= (select high_m from cut) and s.to_m >= (select low_m from cut)
      offset 0
    ) r
    offset 0
  ), piece as ( -- a line at one place belongs to the segment that begins there, at the very end of the drive to the last one
    select l.*, l.first = coalesce(l.last, l.first) as is_whole,
      generate_series(case when l.last is null then least(l.first, (select last from cut)) else greatest(l.first, 1) end, least(coalesce(l.last, l.first), (select last from cut))) as segment
    from line l
    where l.last is not null or (l.first >= 1 and (l.first <= (select last from cut)
      or l.from_m = (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = support_judged.drive_id)))
  ), share as ( -- the cuts as columns, so that the share is worked out in place and not by a call
    select p.*, case when not p.is_whole then (select mm from cut)[p.segment] * 0.001 end as cut_from_m,
      case when not p.is_whole then (select mm from cut)[p.segment + 1] * 0.001 end as cut_to_m
    from piece p
    offset 0
  ), held as materialized (
    select (select strokes from cut)[p.segment] as stroke, (select cells from cut)[p.segment] as cell, s.parts[p.segment] as part, s.slot, s.is_by_metre,
      (select exists (select from list where is_spaced)) and ((select demands from cut)[p.segment], s.slot) in (select l.demand, l.slot from listed l where l.is_spaced) as is_spaced,
      case when p.is_whole then p.quantity else apportion(p.quantity, p.pieces, p.from_m, p.to_m, p.positions_m, p.cut_from_m, p.cut_to_m) end as quantity
    from share p join slot s on s.support_item_id = p.support_item_id and s.zone = p.zone
  ), gap as materialized (
    select g.* from support_gap_of(support_judged.drive_id) g
  ), place as materialized (
    select (select strokes from cut)[p.segment] as stroke, (select cells from cut)[p.segment] as cell, s.parts[p.segment] as part, s.slot, l.is_spaced
    from gap g
    cross join lateral (select width_bucket(mm, (select mm from cut)) as segment from unnest(g.places_mm) mm) p
    join slot s on s.support_item_id = g.support_item_id and s.zone = g.zone
    join listed l on l.demand = (select demands from cut)[p.segment] and l.slot = s.slot
    where p.segment between 1 and (select last from cut)
  ), part_of_stroke as materialized ( -- most strokes have one demand, and are not sorted with those of several
    select k.*, count(*) over (partition by k.stroke) as parts
    from (select stroke, demand, sum(to_mm - from_mm) as length_mm, min(from_mm) as from_mm, max(to_mm) as to_mm from segment where is_assessed and stroke is not null group by stroke, demand) k
  ), of_stroke as ( -- what is demanded by the metre
    select k.stroke, l.slot, k.length_mm * l.quantity_per_m * 0.001 as required, k.length_mm * l.quantity_per_m * 0.00001 * l.tolerance_percent as tolerated,
      k.from_mm, k.to_mm, k.demand, k.demand as other_demand
    from part_of_stroke k join listed l on l.demand = k.demand and not l.is_spaced
    where k.parts = 1
    union all
    select k.stroke, l.slot, sum(k.length_mm * l.quantity_per_m * 0.001), sum(k.length_mm * l.quantity_per_m * 0.00001 * l.tolerance_percent),
      min(k.from_mm), max(k.to_mm), min(k.demand), max(k.demand)
    from part_of_stroke k join listed l on l.demand = k.demand and not l.is_spaced
    where k.parts > 1
    group by k.stroke, l.slot
  ), in_stroke as (
    select h.stroke, h.slot, sum(h.quantity) as quantity from held h where h.is_by_metre and h.stroke > 0 group by h.stroke, h.slot
  ), spaced_in_stroke as materialized ( -- what stands or is missing where a spacing is demanded
    select k.stroke, k.slot, sum(k.required) as required, sum(k.gap_missing) as gap_missing
    from (
      select h.stroke, h.slot, h.quantity as required, 0 as gap_missing from held h where (select exists (select from list where is_spaced)) and h.is_spaced
      union all
      select p.stroke, p.slot, case when p.is_spaced then 1 else 0 end, 1 from place p
    ) k
    where k.stroke > 0 group by k.stroke, k.slot
  ), stood as materialized (
    select o.stroke, o.slot, o.from_mm, o.to_mm, o.demand, o.other_demand, o.required + coalesce(s.required, 0) as required, o.tolerated, coalesce(i.quantity, 0.000) as installed,
      coalesce(s.gap_missing, 0) as gap_missing
    from of_stroke o
    left join in_stroke i on i.stroke = o.stroke and i.slot = o.slot
    left join spaced_in_stroke s on s.stroke = o.stroke and s.slot = o.slot
  ), pieces as (
    select s.slot, array_agg(s.stroke order by s.stroke) as strokes, array_agg(s.required - s.installed - s.gap_missing order by s.stroke) as lacks,
      array_agg(s.tolerated order by s.stroke) as tolerated
    from stood s
    where s.slot in (select slot from slot where is_counted)
    group by s.slot
    having bool_or(s.required - s.installed - s.gap_missing > 0)
  ), lacking as (
    select p.slot, m.cell as stroke, m.missing + 0.000 as missing
    from pieces p cross join lateral missing_pieces(p.strokes, p.lacks, p.tolerated) m where m.missing > 0
    union all
    select s.slot, s.stroke, s.required - s.installed
    from stood s where s.slot in (select slot from slot where not is_counted) and s.required - s.installed > s.tolerated
  ), judged as materialized (
    select s.stroke, k.slot, k.support_item_id, k.zone, k.is_counted, s.required, s.tolerated, s.installed, l.missing, s.from_mm, s.to_mm, s.demand, s.other_demand,
      s.from_mm * 0.001 as demanded_from_m, s.to_mm * 0.001 as demanded_to_m
    from lacking l
    join stood s on s.stroke = l.stroke and s.slot = l.slot
    join slot k on k.slot = l.slot
  ), spread as ( -- of what strokes lack, what falls into each stretch and part
    select width_bucket((at.m * 1000)::int, (select asked from mm)) as cell, case when at.m < d.due_to_m then 1 else 0 end as part, j.slot, 1.000 as missing
    from judged j
    cross join lateral generate_series(1, j.missing::int) n
    cross join lateral (select trunc(j.demanded_from_m + (2 * n - 1) * (j.demanded_to_m - j.demanded_from_m) / (2 * j.missing), 3) as m) at
    join due d on d.zone = j.zone and at.m >= d.from_m and at.m < d.to_m
    where j.is_counted and support_judged.bounds is not null and at.m >= (select asked_low_mm from span) * 0.001 and at.m < (select asked_high_mm from span) * 0.001
    union all
    select t.cell, t.part, j.slot, share.high - share.low
    from judged j
    cross join lateral (
      select b.cell, d.part, greatest(j.demanded_from_m, b.from_m, d.from_m) as from_m, least(j.demanded_to_m, b.to_m, d.to_m) as to_m
      from (
        select n as cell, ((select asked from mm))[n] * 0.001 as from_m, ((select asked from mm))[n + 1] * 0.001 as to_m
        from generate_series(greatest(width_bucket(j.from_mm, (select asked from mm)), 1), least(width_bucket(j.to_mm - 1, (select asked from mm)), cardinality((select asked from mm)) - 1)) n
      ) b
      cross join (
        select zone, 1 as part, from_m, least(to_m, due_to_m) as to_m from due
        union all
        select zone, 0, greatest(from_m, due_to_m), to_m from due
      ) d
      where d.zone = j.zone
    ) t
    cross join lateral (
      select case when t.from_m = j.demanded_from_m then 0 else round(j.missing * (t.from_m - j.demanded_from_m) / (j.demanded_to_m - j.demanded_from_m), 3) end as low,
        case when t.to_m = j.demanded_to_m then j.missing else round(j.missing * (t.to_m - j.demanded_from_m) / (j.demanded_to_m - j.demanded_from_m), 3) end as high
    ) share
    where not j.is_counted and support_judged.bounds is not null and t.to_m > t.from_m
  ), entry as ( -- part 0: not yet due, 1: due
    select k.cell, k.part, l.slot, k.length_mm * 0.001 as length_m, k.length_mm * l.quantity_per_m * 0.001 as required,
      k.length_mm * l.quantity_per_m * 0.001 * l.tolerance_percent * 0.01 as tolerated, 0.000 as installed, 0.000 as missing, k.demand
    from (
      select s.cell, due.zone, case when s.to_mm <= due.due_to_mm then 1 else 0 end as part, s.demand, sum(s.to_mm - s.from_mm) as length_mm
      from segment s join due on s.from_mm >= due.from_mm and s.from_mm < due.to_mm
      where s.is_assessed and s.cell is not null
      group by 1, 2, 3, 4
    ) k
    join listed l on l.demand = k.demand and l.zone = k.zone
    union all
    select h.cell, h.part, h.slot, 0.000, case when h.is_spaced and h.part < 2 then h.quantity else 0.000 end, 0.000, h.quantity, 0.000, null
    from ( -- by itself first: the lines are many, and have nothing to sum but this
      select h.cell, h.part, h.slot, h.is_spaced, sum(h.quantity) as quantity from held h where h.cell > 0 and h.quantity <> 0 group by h.cell, h.part, h.slot, h.is_spaced
    ) h
    union all
    select p.cell, p.part, p.slot, 0.000, case when p.is_spaced then 1 else 0 end, 0.000, 0.000, 1.000, null from place p where p.cell > 0
    union all
    select cell, 2, null, sum(to_mm - from_mm) * 0.001, 0.000, 0.000, 0.000, 0.000, demand
    from segment where is_driven and not is_known and cell is not null group by cell, demand
    union all
    select s.cell, s.part, s.slot, 0.000, 0.000, 0.000, 0.000, s.missing, null from spread s
  ), total as materialized (
    select cell, part, slot, sum(length_m) as length_m, sum(required) as required, sum(tolerated) as tolerated, sum(installed) as installed,
      sum(missing) as missing, min(demand) as demand, max(demand) as other_demand
    from entry group by cell, part, slot
  ), not_assessed as materialized (
    select s.stroke, s.cell, s.demand, sum(s.to_mm - s.from_mm) * 0.001 as length_m from segment s where s.is_driven and not s.is_known group by s.stroke, s.cell, s.demand
  )
  select 'stroke', j.stroke, ((select stroke from mm))[j.stroke] * 0.001, ((select stroke from mm))[j.stroke + 1] * 0.001, null, j.support_item_id, j.zone, null, round(j.required, greatest(3, min_scale(j.required))),
    round(j.tolerated, greatest(3, min_scale(j.tolerated))), j.installed, round(j.missing, greatest(3, min_scale(j.missing))), ((select stroke from mm))[j.stroke] * 0.001,
    case when j.demand = j.other_demand then (select d.words from demand d where d.demand = j.demand) else (
      select string_agg(distinct d.words, '; ')
      from generate_series(width_bucket(j.from_mm, (select mm from cut)), width_bucket(j.to_mm - 1, (select mm from cut))) n
      join demand d on d.demand = (select demands from cut)[n]
      where (d.demand, j.slot) in (select l.demand, l.slot from listed l where not l.is_spaced)) end
  from judged j
  union all
  select 'stroke', n.stroke, ((select stroke from mm))[n.stroke] * 0.001, ((select stroke from mm))[n.stroke + 1] * 0.001, null, null, null, sum(n.length_m), 0.000, 0.000, 0.000, 0.000,
    ((select stroke from mm))[n.stroke] * 0.001, string_agg(distinct d.words, '; ')
  from not_assessed n join demand d on d.demand = n.demand
  where n.stroke is not null
  group by n.stroke
  union all
  select 'gap', k.stroke, ((select stroke from mm))[k.stroke] * 0.001, ((select stroke from mm))[k.stroke + 1] * 0.001, null, g.support_item_id, g.zone::text, 0.000, 0.000,
    0.000, 0.000, (select count(*) from unnest(g.places_mm) p where p >= ((select stroke from mm))[k.stroke] and p < ((select stroke from mm))[k.stroke + 1]) + 0.000,
    g.places_mm[1] * 0.001, g.rests_on
  from gap g
  cross join lateral generate_series(width_bucket(floor(g.from_m * 1000)::int, (select stroke from mm)),
    least(width_bucket(greatest(ceil(g.to_m * 1000)::int - 1, floor(g.from_m * 1000)::int), (select stroke from mm)), cardinality((select stroke from mm)) - 1)) k(stroke)
  union all
  select 'cell', t.cell, ((select asked from mm))[t.cell] * 0.001, ((select asked from mm))[t.cell + 1] * 0.001, (array['not_yet_due', 'due', 'not_assessed', 'ahead_of_face'])[t.part + 1],
    k.support_item_id, k.zone, t.length_m, round(t.required, greatest(3, min_scale(t.required))), round(t.tolerated, greatest(3, min_scale(t.tolerated))), t.installed,
    t.missing, null, case when t.demand = t.other_demand then (select d.words from demand d where d.demand = t.demand)
      when t.demand <> t.other_demand and t.slot is not null then (
        select string_agg(distinct d.words, '; ')
        from generate_series(width_bucket(((select asked from mm))[t.cell], (select mm from cut)), width_bucket(((select asked from mm))[t.cell + 1] - 1, (select mm from cut))) n
        join demand d on d.demand = (select demands from cut)[n]
        where k.parts[n] = t.part and (d.demand, t.slot) in (select l.demand, l.slot from listed l))
      when t.demand <> t.other_demand then (select string_agg(distinct d.words, '; ') from not_assessed n join demand d on d.demand = n.demand where n.cell = t.cell) end
  from total t
  left join slot k on k.slot = t.slot;
end;

comment on function support_judged(int, numeric[]) is
  'Required against installed support of a drive, judged stroke by stroke, and what follows between rising bounds (driven metres), null: none. Rows by kind: stroke (what lacks), gap, cell; missing: local shortfall, whatever the limit, in the item''s unit; short_from_m: the place from which a stroke counts as short [m]; rests_on: by what it is demanded. Decision support; docs/calculations.md gives the rules.';
