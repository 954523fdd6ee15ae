-- What is required, installed and missing of a drive between rising bounds (driven metres), by stretch, part, item and zone. missing is the local
-- shortfall there, of what strokes lack and of gaps (support_lacking_of): of gaps by their places, of strokes spread over them, pieces evenly. Cells sum to the same over any bounds.
--
-- Part. due: the place is farther behind the face than the zone's limit that rules it; without a limit, wherever it is behind the
-- face. not_yet_due: it is not. not_assessed: driven, and neither a design section nor a class with a standard says what is
-- demanded; a row without item gives its length, with that of places where a standard is lacking of one of the classes considered there:
-- what the others demand is compared there all the same. ahead_of_face: not driven yet.
-- Lines are laid and summed as in support_lacking_of: by numbers.
create or replace function support_cell_laid(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, rests_on text)
language sql stable begin atomic
  with mm as materialized ( -- halving needs elements of one width: whole millimetres
    select array(select (m * 1000)::int as mm from unnest(support_cell_laid.bounds) m order by mm) as asked
  ), segment as materialized (
    select s.* from support_segment(support_cell_laid.drive_id, support_cell_laid.bounds) s
  ), cut as materialized ( -- without nulls: subscripts of an array that has some walk it
    select array_agg(from_mm order by segment) || max(to_mm) as mm, max(segment) as last, min(from_mm) * 0.001 as low_m, max(to_mm) * 0.001 as high_m,
      array_agg(cell order by segment) as cells, array_agg(demand order by segment) as demands
    from segment
  ), due as materialized (
    select l.zone::text as zone, l.from_mm, l.to_mm, l.due_to_mm, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.due_to_mm * 0.001 as due_to_m
    from support_limit_along(support_cell_laid.drive_id) l
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
    select i.id as support_item_id, z.zone, row_number() over (order by i.id, z.zone)::int as slot, z.parts
    from drive d join support_item i on i.project_id = d.project_id cross join zone_part z
    where d.id = support_cell_laid.drive_id
  ), listed as materialized (
    select l.demand, s.slot, l.zone, l.quantity_per_m, l.tolerance_percent, l.is_spaced from list l join slot s on s.support_item_id = l.support_item_id and s.zone = l.zone
  ), line as (
    select r.*, width_bucket(r.from_mm, (select mm from cut)) as first, case when r.to_mm > r.from_mm then width_bucket(r.to_mm - 1, (select mm from cut)) end as last
    from (
      select s.support_item_id, s.zone, s.quantity, case when s.unit = 'nr' then s.quantity end as pieces, s.from_m, s.to_m, s.positions_m,
        (s.from_m * 1000)::int as from_mm, (s.to_m * 1000)::int as to_mm
      from support_installed s
      where s.drive_id = support_cell_laid.drive_id and s.from_m <= (select high_m from cut) and s.to_m >= (select low_m from cut)
      offset 0
    ) r
    offset 0
  ), piece as ( -- a line at one place belongs to the segment that begins there, at the very end of the drive to the last one
    select l.*, l.first = coalesce(l.last, l.first) as is_whole,
      generate_series(case when l.last is null then least(l.first, (select last from cut)) else greatest(l.first, 1) end, least(coalesce(l.last, l.first), (select last from cut))) as segment
    from line l
    where l.last is not null or (l.first >= 1 and (l.first <= (select last from cut)
      or l.from_m = (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = support_cell_laid.drive_id)))
  ), share as ( -- the cuts as columns, so that the share is worked out in place and not by a call
    select p.*, case when not p.is_whole then (select mm from cut)[p.segment] * 0.001 end as cut_from_m,
      case when not p.is_whole then (select mm from cut)[p.segment + 1] * 0.001 end as cut_to_m
    from piece p
    offset 0
  ), held as materialized (
    select (select cells from cut)[p.segment] as cell, s.parts[p.segment] as part, s.slot,
      (select exists (select from list where is_spaced)) and ((select demands from cut)[p.segment], s.slot) in (select l.demand, l.slot from listed l where l.is_spaced) as is_spaced,
      case when p.is_whole then p.quantity else apportion(p.quantity, p.pieces, p.from_m, p.to_m, p.positions_m, p.cut_from_m, p.cut_to_m) end as quantity
    from share p join slot s on s.support_item_id = p.support_item_id and s.zone = p.zone
  ), place as materialized (
    select (select cells from cut)[p.segment] as cell, s.parts[p.segment] as part, s.slot, l.is_spaced
    from support_gap_of(support_cell_laid.drive_id) g
    cross join lateral (select width_bucket(mm, (select mm from cut)) as segment from unnest(g.places_mm) mm) p
    join slot s on s.support_item_id = g.support_item_id and s.zone = g.zone
    join listed l on l.demand = (select demands from cut)[p.segment] and l.slot = s.slot
    where p.segment between 1 and (select last from cut)
  ), judged as materialized ( -- what strokes lack that reach into what is asked
    select s.slot, i.unit = 'nr' as is_counted, j.zone, j.missing, j.demanded_from_m, j.demanded_to_m, (j.demanded_from_m * 1000)::int as from_mm, (j.demanded_to_m * 1000)::int as to_mm
    from support_lacking_of(support_cell_laid.drive_id) j
    join support_item i on i.id = j.support_item_id
    join slot s on s.support_item_id = j.support_item_id and s.zone = j.zone
    where j.kind = 'stroke' and j.demanded_from_m < (select high_m from cut) and j.demanded_to_m > (select low_m from cut)
  ), spread as ( -- of what strokes lack, what falls into each stretch and part
    select width_bucket((at.m * 1000)::int, (select asked from mm)) as cell, case when at.m < d.due_to_m then 1 else 0 end as part, j.slot, 1.000 as missing
    from judged j
    cross join lateral generate_series(1, j.missing::int) n
    cross join lateral (select trunc(j.demanded_from_m + (2 * n - 1) * (j.demanded_to_m - j.demanded_from_m) / (2 * j.missing), 3) as m) at
    join due d on d.zone = j.zone and at.m >= d.from_m and at.m < d.to_m
    where j.is_counted and at.m >= (select low_m from cut) and at.m < (select high_m from cut)
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
    where not j.is_counted and t.to_m > t.from_m
  ), entry as ( -- part 0: not yet due, 1: due
    select k.cell, k.part, l.slot, k.length_mm * 0.001 as length_m, k.length_mm * l.quantity_per_m * 0.001 as required,
      k.length_mm * l.quantity_per_m * 0.001 * l.tolerance_percent * 0.01 as tolerated, 0.000 as installed, 0.000 as missing, k.demand
    from (
      select s.cell, due.zone, case when s.to_mm <= due.due_to_mm then 1 else 0 end as part, s.demand, sum(s.to_mm - s.from_mm) as length_mm
      from segment s join due on s.from_mm >= due.from_mm and s.from_mm < due.to_mm
      where s.is_assessed
      group by 1, 2, 3, 4
    ) k
    join listed l on l.demand = k.demand and l.zone = k.zone
    union all
    select h.cell, h.part, h.slot, 0.000, case when h.is_spaced and h.part < 2 then h.quantity else 0.000 end, 0.000, h.quantity, 0.000, null
    from ( -- by itself first: the lines are many, and have nothing to sum but this
      select h.cell, h.part, h.slot, h.is_spaced, sum(h.quantity) as quantity from held h where h.quantity <> 0 group by h.cell, h.part, h.slot, h.is_spaced
    ) h
    union all
    select p.cell, p.part, p.slot, 0.000, case when p.is_spaced then 1 else 0 end, 0.000, 0.000, 1.000, null from place p
    union all
    select cell, 2, null, sum(to_mm - from_mm) * 0.001, 0.000, 0.000, 0.000, 0.000, demand
    from segment where is_driven and not is_known group by cell, demand
    union all
    select s.cell, s.part, s.slot, 0.000, 0.000, 0.000, 0.000, s.missing, null from spread s
  ), total as materialized (
    select cell, part, slot, sum(length_m) as length_m, sum(required) as required, sum(tolerated) as tolerated, sum(installed) as installed,
      sum(missing) as missing, min(demand) as demand, max(demand) as other_demand
    from entry group by cell, part, slot
  ), not_assessed as materialized (
    select distinct s.cell, s.demand from segment s where s.is_driven and not s.is_known
  )
  select t.cell, ((select asked from mm))[t.cell] * 0.001, ((select asked from mm))[t.cell + 1] * 0.001, (array['not_yet_due', 'due', 'not_assessed', 'ahead_of_face'])[t.part + 1],
    k.support_item_id, k.zone, t.length_m, round(t.required, greatest(3, min_scale(t.required))), round(t.tolerated, greatest(3, min_scale(t.tolerated))), t.installed,
    t.missing, case when t.demand = t.other_demand then (select d.words from demand d where d.demand = t.demand)
      when t.demand <> t.other_demand and t.slot is not null then (
        select string_agg(distinct d.words, '; ')
        from generate_series(width_bucket(((select asked from mm))[t.cell], (select mm from cut)), width_bucket(((select asked from mm))[t.cell + 1] - 1, (select mm from cut))) n
        join demand d on d.demand = (select demands from cut)[n]
        where k.parts[n] = t.part and (d.demand, t.slot) in (select l.demand, l.slot from listed l))
      when t.demand <> t.other_demand then (select string_agg(distinct d.words, '; ') from not_assessed n join demand d on d.demand = n.demand where n.cell = t.cell) end
  from total t
  left join slot k on k.slot = t.slot;
end;

comment on function support_cell_laid(int, numeric[]) is
  'Required against installed support of a drive between rising bounds (driven metres), by stretch, part, item and zone; missing: local shortfall, whatever the limit, in the item''s unit; rests_on: what demands it. Decision support; docs/calculations.md gives the rules.';
