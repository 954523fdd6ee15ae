-- What strokes lack of the support that is demanded of them: support that is over in one stroke does not make up for what lacks in another.
-- Strokes are those of support_stroke, whole, whether due yet or not. Rows by kind:
--   stroke: a stroke, item and zone that lacks what is demanded per metre. missing is what the stroke lacks: of pieces whole ones, by missing_pieces; else all of
--     it, where it is more than is tolerated. Without item: length of the stroke that is not assessed.
--   gap: a stroke, item and zone that a gap in the spacing touches; missing: the pieces of it whose last allowed place lies in the stroke.
-- What is demanded and missing by gaps is no part of what a stroke lacks per metre.
-- Required = quantity per metre × length, exact (multiplied only: a quotient would be rounded). Installed lines are
-- apportioned along their interval, pieces by where each is: both sum over any bounds. A line at one place belongs to the segment that begins there; at the very end of the drive to the last one.
-- Everything is summed by numbers: segments, strokes, demands, and a slot for each item and zone. Words are looked up for the few rows of the answer.
-- It reads all of a drive, and what follows from it is kept: prisma/views/kept.
create or replace function support_lacking_of(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable begin atomic
  with stroke as materialized (
    select support_stroke(support_lacking_of.drive_id) as bounds
  ), mm as materialized ( -- halving needs elements of one width: whole millimetres
    select array(select (m * 1000)::int as mm from unnest((select bounds from stroke)) m order by mm) as stroke
  ), segment as materialized (
    select s.segment, s.from_mm, s.to_mm, s.is_driven, s.is_assessed, s.is_known, s.demand, s.design_section_id, s.standard_support_ids, s.ground_class_ids, s.bases, s.cell as stroke
    from stroke cross join lateral support_segment(support_lacking_of.drive_id, stroke.bounds) s
  ), cut as materialized ( -- without nulls: subscripts of an array that has some walk it
    select array_agg(from_mm order by segment) || max(to_mm) as mm, max(segment) as last, min(from_mm) * 0.001 as low_m, max(to_mm) * 0.001 as high_m,
      array_agg(case when is_assessed then stroke else 0 end order by segment) as strokes, array_agg(demand order by segment) as demands
    from segment
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
    select i.id as support_item_id, z.zone, row_number() over (order by i.id, z.zone)::int as slot, i.unit = 'nr' as is_counted,
      exists (select from list l where l.support_item_id = i.id and l.zone = z.zone and not l.is_spaced) as is_by_metre
    from drive d join support_item i on i.project_id = d.project_id
    cross join (select distinct zone from support_limit_along(support_lacking_of.drive_id)) z
    where d.id = support_lacking_of.drive_id
  ), listed as materialized (
    select l.demand, s.slot, l.zone, l.quantity_per_m, l.tolerance_percent, l.is_spaced from list l join slot s on s.support_item_id = l.support_item_id and s.zone = l.zone
  ), line as (
    select r.*, width_bucket(r.from_mm, (select mm from cut)) as first, case when r.to_mm > r.from_mm then width_bucket(r.to_mm - 1, (select mm from cut)) end as last
    from (
      select s.support_item_id, s.zone, s.quantity, case when s.unit = 'nr' then s.quantity end as pieces, s.from_m, s.to_m, s.positions_m,
        (s.from_m * 1000)::int as from_mm, (s.to_m * 1000)::int as to_mm
      from support_installed s
      where s.drive_id = support_lacking_of.drive_id and s.from_m <= (select high_m from cut) and s.to_m >= (select low_m from cut)
      offset 0
    ) r
    offset 0
  ), piece as ( -- a line at one place belongs to the segment that begins there, at the very end of the drive to the last one
    select l.*, l.first = coalesce(l.last, l.first) as is_whole,
      generate_series(case when l.last is null then least(l.first, (select last from cut)) else greatest(l.first, 1) end, least(coalesce(l.last, l.first), (select last from cut))) as segment
    from line l
    where l.last is not null or (l.first >= 1 and (l.first <= (select last from cut)
      or l.from_m = (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = support_lacking_of.drive_id)))
  ), share as ( -- the cuts as columns, so that the share is worked out in place and not by a call
    select p.*, case when not p.is_whole then (select mm from cut)[p.segment] * 0.001 end as cut_from_m,
      case when not p.is_whole then (select mm from cut)[p.segment + 1] * 0.001 end as cut_to_m
    from piece p
    offset 0
  ), held as materialized (
    select (select strokes from cut)[p.segment] as stroke, s.slot, s.is_by_metre,
      (select exists (select from list where is_spaced)) and ((select demands from cut)[p.segment], s.slot) in (select l.demand, l.slot from listed l where l.is_spaced) as is_spaced,
      case when p.is_whole then p.quantity else apportion(p.quantity, p.pieces, p.from_m, p.to_m, p.positions_m, p.cut_from_m, p.cut_to_m) end as quantity
    from share p join slot s on s.support_item_id = p.support_item_id and s.zone = p.zone
  ), gap as materialized (
    select g.* from support_gap_of(support_lacking_of.drive_id) g
  ), place as materialized (
    select (select strokes from cut)[p.segment] as stroke, s.slot, l.is_spaced
    from gap g
    cross join lateral (select width_bucket(mm, (select mm from cut)) as segment from unnest(g.places_mm) mm) p
    join slot s on s.support_item_id = g.support_item_id and s.zone = g.zone
    join listed l on l.demand = (select demands from cut)[p.segment] and l.slot = s.slot
    where p.segment between 1 and (select last from cut)
  ), part_of_stroke as materialized ( -- most strokes have one demand, and are not sorted with those of several
    select k.*, count(*) over (partition by k.stroke) as parts
    from (select stroke, demand, sum(to_mm - from_mm) as length_mm, min(from_mm) as from_mm, max(to_mm) as to_mm from segment where is_assessed group by stroke, demand) k
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
  ), not_assessed as materialized (
    select s.stroke, s.demand, sum(s.to_mm - s.from_mm) * 0.001 as length_m from segment s where s.is_driven and not s.is_known group by s.stroke, s.demand
  )
  select 'stroke', j.stroke, ((select stroke from mm))[j.stroke] * 0.001, ((select stroke from mm))[j.stroke + 1] * 0.001, j.support_item_id, j.zone, null, round(j.required, greatest(3, min_scale(j.required))),
    round(j.tolerated, greatest(3, min_scale(j.tolerated))), j.installed, round(j.missing, greatest(3, min_scale(j.missing))), ((select stroke from mm))[j.stroke] * 0.001,
    case when j.demand = j.other_demand then (select d.words from demand d where d.demand = j.demand) else (
      select string_agg(distinct d.words, '; ')
      from generate_series(width_bucket(j.from_mm, (select mm from cut)), width_bucket(j.to_mm - 1, (select mm from cut))) n
      join demand d on d.demand = (select demands from cut)[n]
      where (d.demand, j.slot) in (select l.demand, l.slot from listed l where not l.is_spaced)) end,
    j.demanded_from_m, j.demanded_to_m
  from judged j
  union all
  select 'stroke', n.stroke, ((select stroke from mm))[n.stroke] * 0.001, ((select stroke from mm))[n.stroke + 1] * 0.001, null, null, sum(n.length_m), 0.000, 0.000, 0.000, 0.000,
    ((select stroke from mm))[n.stroke] * 0.001, string_agg(distinct d.words, '; '), null, null
  from not_assessed n join demand d on d.demand = n.demand
  group by n.stroke
  union all
  select 'gap', k.stroke, ((select stroke from mm))[k.stroke] * 0.001, ((select stroke from mm))[k.stroke + 1] * 0.001, g.support_item_id, g.zone::text, 0.000, 0.000,
    0.000, 0.000, (select count(*) from unnest(g.places_mm) p where p >= ((select stroke from mm))[k.stroke] and p < ((select stroke from mm))[k.stroke + 1]) + 0.000,
    g.places_mm[1] * 0.001, g.rests_on, null, null
  from gap g
  cross join lateral generate_series(width_bucket(floor(g.from_m * 1000)::int, (select stroke from mm)),
    least(width_bucket(greatest(ceil(g.to_m * 1000)::int - 1, floor(g.from_m * 1000)::int), (select stroke from mm)), cardinality((select stroke from mm)) - 1)) k(stroke);
end;

comment on function support_lacking_of(int) is
  'What strokes lack of the support demanded of them, whether due yet or not. Rows by kind: stroke (what lacks per metre; without item: length not assessed) and gap (in a spacing); missing: in the item''s unit; demanded_from_m, demanded_to_m: where in the stroke it is demanded [driven m]; short_from_m: the place from which a stroke counts as short [m]; rests_on: what demands it. Decision support; docs/calculations.md gives the rules.';
