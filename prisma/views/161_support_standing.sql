-- Required and installed support between bounds, one row a cell, part, item and zone; the base of every comparison.
--
-- Part. due: the place is farther behind the face than the limit of the zone; without a limit, wherever it is behind the
-- face. not_yet_due: it is not. not_assessed: driven, and neither a design section nor a class with a standard says what is
-- demanded; a row without item gives its length. ahead_of_face: not driven yet.
-- Required = quantity per metre × length, exact (multiplied only: a quotient would be rounded), without the noughts behind. Installed lines are apportioned along their interval, pieces by where each stands: both sum over
-- any bounds. A line at one place belongs to the segment that begins there; at the very end of the drive to the last one.
create or replace function support_standing(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric, installed numeric)
language sql stable begin atomic
  with segment as materialized (
    select s.*, s.from_mm * 0.001 as from_m, s.to_mm * 0.001 as to_m from support_segment(support_standing.drive_id, support_standing.bounds) s
  ), cut as materialized (
    select array_agg(from_mm order by from_mm) || max(to_mm) as mm, max(segment) as last, min(from_m) as low_m, max(to_m) as high_m from segment
  ), due as materialized (
    select z.zone, face.mm - coalesce(l.limit_mm, 0) as to_mm
    from unnest(enum_range(null::support_zone)) z(zone)
    cross join (
      select (coalesce(max(b.to_m), 0) * 1000)::int as mm from boring b where b.drive_id = support_standing.drive_id
    ) face
    left join (
      select l.zone, (l.limit_m * 1000)::int as limit_mm from drive_support_limit l where l.drive_id = support_standing.drive_id
    ) l on l.zone = z.zone
  ), demanded as (
    select s.cell, s.from_mm, s.to_mm, i.support_item_id, i.zone, i.quantity_per_m, i.tolerance_percent
    from segment s join design_section_item i on i.design_section_id = s.design_section_id
    where s.is_driven
    union all
    select s.cell, s.from_mm, s.to_mm, i.support_item_id, i.zone, i.quantity_per_m, i.tolerance_percent
    from segment s join standard_support_item i on i.standard_support_id = s.standard_support_id
    where s.is_driven and s.design_section_id is null
  ), required as (
    select d.cell, d.to_mm <= due.to_mm as is_due, d.support_item_id, d.zone, sum(d.to_mm - d.from_mm) * 0.001 as length_m,
      sum(d.to_mm - d.from_mm) * d.quantity_per_m * 0.001 as quantity, d.tolerance_percent
    from demanded d join due on due.zone = d.zone
    group by d.cell, d.to_mm <= due.to_mm, d.support_item_id, d.zone, d.quantity_per_m, d.tolerance_percent
  ), line as (
    select r.support_item_id, r.zone, r.quantity, case when r.unit = 'nr' then r.quantity end as pieces, r.from_m, r.to_m, r.positions_m,
      width_bucket((r.from_m * 1000)::int, (select mm from cut)) as first,
      case when r.to_m > r.from_m then width_bucket((r.to_m * 1000)::int - 1, (select mm from cut)) end as last
    from support_installed r
    where r.drive_id = support_standing.drive_id and r.span && (select numrange(low_m, high_m, '[]') from cut)
  ), piece as (
    select support_item_id, zone, quantity, pieces, from_m, to_m, positions_m, first = last as is_whole,
      generate_series(greatest(first, 1), least(last, (select last from cut))) as segment
    from line where from_m < to_m
    union all
    select support_item_id, zone, quantity, pieces, from_m, to_m, positions_m, true, least(first, (select last from cut))
    from line
    where from_m = to_m and first >= 1 and (first <= (select last from cut)
      or from_m = (select abs(d.end_chainage_m - d.start_chainage_m) from drive d where d.id = support_standing.drive_id))
  ), installed as (
    select s.cell, s.is_driven, s.is_assessed, s.to_mm <= due.to_mm as is_due, p.support_item_id, p.zone,
      sum(case when p.is_whole then p.quantity else apportion(p.quantity, p.pieces, p.from_m, p.to_m, p.positions_m, s.from_m, s.to_m) end) as quantity
    from piece p
    join segment s on s.segment = p.segment
    join due on due.zone = p.zone
    group by s.cell, s.is_driven, s.is_assessed, s.to_mm <= due.to_mm, p.support_item_id, p.zone
  ), entry as (
    select cell, case when is_due then 'due' else 'not_yet_due' end as part, support_item_id, zone, length_m, quantity as required,
      quantity * tolerance_percent * 0.01 as tolerated, 0.000 as installed
    from required
    union all
    select cell, case when not is_driven then 'ahead_of_face' when not is_assessed then 'not_assessed' when is_due then 'due' else 'not_yet_due' end,
      support_item_id, zone, 0.000, 0.000, 0.000, quantity
    from installed where quantity <> 0
    union all
    select cell, 'not_assessed', null, null, sum(to_mm - from_mm) * 0.001, 0.000, 0.000, 0.000
    from segment where is_driven and not is_assessed group by cell
  )
  select total.cell, bound.from_m, bound.to_m, total.part, total.support_item_id, total.zone::text, total.length_m,
    round(total.required, greatest(3, min_scale(total.required))), round(total.tolerated, greatest(3, min_scale(total.tolerated))), total.installed
  from (
    select cell, part, support_item_id, zone, sum(length_m) as length_m, sum(required) as required, sum(tolerated) as tolerated, sum(installed) as installed
    from entry group by cell, part, support_item_id, zone
  ) total
  join (
    select number::int as cell, m as from_m, lead(m) over (order by number) as to_m from unnest(support_standing.bounds) with ordinality b(m, number)
  ) bound on bound.cell = total.cell;
end;

comment on function support_standing(int, numeric[]) is
  'Required and installed support of a drive between rising bounds (driven metres) [m], by cell, part, item and zone, in the item''s unit, exact. from_m, to_m: the cell, between two bounds that follow one another [m]; length_m: length along which the item is demanded, or that is not assessed [m]; tolerated: shortfall that is not told. Decision support; docs/calculations.md gives the rules.';
