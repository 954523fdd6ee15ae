-- Required and installed support between bounds, one row a cell, part, item and zone; the base of every comparison.
--
-- Part. due: the place is farther behind the face than the zone's limit that rules it; without a limit, wherever it is behind the
-- face. not_yet_due: it is not. not_assessed: driven, and neither a design section nor a class with a standard says what is
-- demanded; a row without item gives its length, with that of places where a standard is lacking of one of the classes held of them:
-- what the others demand is compared there all the same. ahead_of_face: not driven yet.
-- Required = quantity per metre × length, exact (multiplied only: a quotient would be rounded), without trailing zeros. Installed lines are
-- apportioned along their interval, pieces by where each stands: both sum over any bounds. A line at one place belongs to the segment that begins there; at the very end of the drive to the last one.
create or replace function support_standing(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric, installed numeric,
  gap_missing numeric, demanded_from_m numeric, demanded_to_m numeric, rests_on text)
language sql stable begin atomic
  with segment as materialized (
    select s.*, s.from_mm * 0.001 as from_m, s.to_mm * 0.001 as to_m from support_segment(support_standing.drive_id, support_standing.bounds) s
  ), cut as materialized (
    select array_agg(from_mm order by from_mm) || max(to_mm) as mm, max(segment) as last, min(from_m) as low_m, max(to_m) as high_m from segment
  ), due as materialized (
    select l.zone, l.from_mm, l.to_mm, l.due_to_mm from support_limit_along(support_standing.drive_id) l
  ), demand as materialized ( -- few: what each demands is looked up once
    select d.*, support_basis_text(d.design_section_id, d.ground_class_ids, d.bases) as words
    from (select distinct demand, is_assessed, design_section_id, standard_support_ids, ground_class_ids, bases from segment where is_driven) d
  ), list as materialized ( -- is_spaced: by spacing alone; its pieces are required where they stand, and where one is missing
    select d.demand, i.support_item_id, i.zone, coalesce(max(i.quantity_per_m), 0) as quantity_per_m,
      coalesce(max(i.tolerance_percent) filter (where i.quantity_per_m is not null), 0) as tolerance_percent, max(i.quantity_per_m) is null as is_spaced
    from demand d cross join lateral support_demand_of(d.design_section_id, d.standard_support_ids) i
    where d.is_assessed
    group by d.demand, i.support_item_id, i.zone
  ), required as (
    select s.cell, s.to_mm <= due.due_to_mm as is_due, i.support_item_id, i.zone, s.demand, sum(s.to_mm - s.from_mm) * 0.001 as length_m,
      sum(s.to_mm - s.from_mm) * i.quantity_per_m * 0.001 as quantity, i.tolerance_percent,
      min(s.from_mm) filter (where not i.is_spaced) as from_mm, max(s.to_mm) filter (where not i.is_spaced) as to_mm
    from segment s
    join list i on i.demand = s.demand
    join due on due.zone = i.zone and s.from_mm >= due.from_mm and s.from_mm < due.to_mm
    where s.is_driven
    group by s.cell, s.to_mm <= due.due_to_mm, i.support_item_id, i.zone, s.demand, i.quantity_per_m, i.tolerance_percent
  ), place as (
    select p.segment, g.support_item_id, g.zone
    from support_gap_of(support_standing.drive_id) g
    cross join lateral (select width_bucket(mm, (select mm from cut)) as segment from unnest(g.places_mm) mm) p
    where p.segment between 1 and (select last from cut)
  ), line as (
    select r.*, width_bucket(r.from_mm, (select mm from cut)) as first, case when r.to_mm > r.from_mm then width_bucket(r.to_mm - 1, (select mm from cut)) end as last
    from (
      select s.support_item_id, s.zone, s.quantity, case when s.unit = 'nr' then s.quantity end as pieces, s.from_m, s.to_m, s.positions_m,
        (s.from_m * 1000)::int as from_mm, (s.to_m * 1000)::int as to_mm
      from support_installed s
      where s.drive_id = support_standing.drive_id and s.span && (select numrange(low_m, high_m, '[]') from cut)
      offset 0
    ) r
    offset 0
  ), piece as ( -- a line at one place belongs to the segment that begins there, at the very end of the drive to the last one
    select l.*, l.first = coalesce(l.last, l.first) as is_whole,
      generate_series(case when l.last is null then least(l.first, (select last from cut)) else greatest(l.first, 1) end, least(coalesce(l.last, l.first), (select last from cut))) as segment
    from line l
    where l.last is not null or (l.first >= 1 and (l.first <= (select last from cut)
      or l.from_m = (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = support_standing.drive_id)))
  ), share as ( -- the cuts as columns, so that the share is worked out in place and not by a call
    select p.*, case when not p.is_whole then (select mm from cut)[p.segment] * 0.001 end as cut_from_m,
      case when not p.is_whole then (select mm from cut)[p.segment + 1] * 0.001 end as cut_to_m
    from piece p
    offset 0
  ), held as ( -- before more is joined: of many lines few segments
    select p.segment, p.support_item_id, p.zone, sum(case when p.is_whole then p.quantity
      else apportion(p.quantity, p.pieces, p.from_m, p.to_m, p.positions_m, p.cut_from_m, p.cut_to_m) end) as quantity
    from share p
    group by p.segment, p.support_item_id, p.zone
  ), installed as (
    select s.cell, s.is_driven, s.is_assessed, s.to_mm <= due.due_to_mm as is_due, p.support_item_id, p.zone, p.quantity, s.demand
    from held p
    join segment s on s.segment = p.segment
    join due on due.zone = p.zone and s.from_mm >= due.from_mm and s.from_mm < due.to_mm
  ), lacking as (
    select s.cell, s.to_mm <= due.due_to_mm as is_due, p.support_item_id, p.zone, i.is_spaced
    from place p
    join segment s on s.segment = p.segment
    join list i on i.demand = s.demand and i.support_item_id = p.support_item_id and i.zone = p.zone
    join due on due.zone = p.zone and s.from_mm >= due.from_mm and s.from_mm < due.to_mm
  ), entry as (
    select cell, case when is_due then 'due' else 'not_yet_due' end as part, support_item_id, zone, length_m, quantity as required,
      quantity * tolerance_percent * 0.01 as tolerated, 0.000 as installed, 0 as gap_missing, from_mm, to_mm, demand
    from required
    union all
    select i.cell, case when not i.is_driven then 'ahead_of_face' when not i.is_assessed then 'not_assessed' when i.is_due then 'due' else 'not_yet_due' end,
      i.support_item_id, i.zone, 0.000,
      case when i.is_driven and (i.demand, i.support_item_id, i.zone) in (select l.demand, l.support_item_id, l.zone from list l where l.is_spaced) then i.quantity else 0.000 end,
      0.000, i.quantity, 0, null, null, null
    from installed i
    where i.quantity <> 0
    union all
    select cell, case when is_due then 'due' else 'not_yet_due' end, support_item_id, zone, 0.000, case when is_spaced then 1 else 0 end, 0.000, 0.000, 1, null, null, null
    from lacking
    union all
    select cell, 'not_assessed', null, null, sum(to_mm - from_mm) * 0.001, 0.000, 0.000, 0.000, 0, null, null, demand
    from segment where is_driven and not is_known group by cell, demand
  ), total as materialized (
    select cell, part, support_item_id, zone, sum(length_m) as length_m, sum(required) as required, sum(tolerated) as tolerated, sum(installed) as installed,
      sum(gap_missing) + 0.000 as gap_missing, min(from_mm) as from_mm, max(to_mm) as to_mm, min(demand) as demand, max(demand) as last_demand,
      array_agg(demand) filter (where demand is not null) as demands
    from entry group by cell, part, support_item_id, zone
  ), several as materialized ( -- of many rows few sets of demands
    select t.demands, (select string_agg(o.words, '; ' order by o.words) from demand o where o.demand = any (t.demands)) as words
    from (select distinct demands from total where demand <> last_demand) t
  )
  select total.cell, bound.from_m, bound.to_m, total.part, total.support_item_id, total.zone::text, total.length_m,
    round(total.required, greatest(3, min_scale(total.required))), round(total.tolerated, greatest(3, min_scale(total.tolerated))), total.installed,
    total.gap_missing, total.from_mm * 0.001, total.to_mm * 0.001, case when total.demand = total.last_demand then d.words else several.words end
  from total
  join (
    select number::int as cell, m as from_m, lead(m) over (order by number) as to_m from unnest(support_standing.bounds) with ordinality b(m, number)
  ) bound on bound.cell = total.cell
  left join demand d on d.demand = total.demand
  left join several on several.demands = total.demands and total.demand <> total.last_demand;
end;

comment on function support_standing(int, numeric[]) is
  'Required and installed support of a drive between rising bounds (driven metres) [m], by cell, part, item and zone, in the item''s unit, exact. from_m, to_m: the cell, between two bounds that follow one another [m]; length_m: length along which the item is demanded, or that is not assessed [m]; required: by the metre, and where a spacing is demanded the pieces that stand or are missing; tolerated: shortfall that is not reported; gap_missing: pieces missing by a spacing; demanded_from_m, demanded_to_m: where in the cell it is demanded by the metre [m]; rests_on: by what it is demanded, in words. Decision support; docs/calculations.md gives the rules.';
