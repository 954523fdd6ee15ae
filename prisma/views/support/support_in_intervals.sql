-- One row per interval of the given length, item and zone. Intervals lie on round chainages and are half open along the drive; quantities
-- given over an interval are apportioned along it, pieces by their positions. What lies at the end of the drive belongs to the last one.
-- Intervals are numbered from 0 at the drive's start and found by division of integer micrometres; most lines lie in one and are not
-- divided. Items are summed by id, and described last.
create or replace function support_in_intervals(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, item_code text, kind text,
  description text, unit text, zone text, quantity numeric, row_count int, drive_id int, from_m numeric, to_m numeric)
language sql stable begin atomic
  with place as materialized (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m, drive_length(d.start_chainage_m, d.end_chainage_m) as length_m,
      axis.origin_m, (axis.origin_m * 1000000)::bigint as origin_um, (interval_m * 1000000)::bigint as cell_um, axis.last
    from drive d
    join project p on p.id = d.project_id
    cross join lateral (
      select interval_holding(d.direction * d.start_chainage_m, interval_m) as first_cell,
        interval_ending(d.direction * d.end_chainage_m, interval_m) as end_cell
    ) numbers
    cross join lateral (
      select d.direction * d.start_chainage_m - numbers.first_cell * interval_m as origin_m, numbers.end_cell - numbers.first_cell as last
    ) axis
    where p.code = support_in_intervals.project and d.code = support_in_intervals.drive
  ), line as (
    select r.*, case when r.unit = 'nr' then r.quantity end as pieces, least((r.from_mm * 1000 + place.origin_um) / place.cell_um, place.last)::int as first,
      case when r.to_mm > r.from_mm then ((r.to_mm * 1000 + place.origin_um - 1) / place.cell_um)::int end as last, place.origin_m
    from place
    cross join lateral (
      select s.support_item_id, s.zone, s.unit, s.quantity, s.from_m, s.to_m, s.positions_m, (s.from_m * 1000)::bigint as from_mm,
        (s.to_m * 1000)::bigint as to_mm
      from support_installed s where s.drive_id = place.id offset 0
    ) r
    offset 0
  ), piece as (
    select l.*, l.first is not distinct from coalesce(l.last, l.first) as is_whole, generate_series(l.first, coalesce(l.last, l.first)) as cell from line l
  ), cut as ( -- the cuts as columns, so that the share is computed inline and not by a function call
    select p.*, case when not p.is_whole then p.cell * interval_m - p.origin_m end as cut_from_m,
      case when not p.is_whole then (p.cell + 1) * interval_m - p.origin_m end as cut_to_m
    from piece p
    offset 0
  ), share as (
    select c.cell, c.support_item_id, c.zone, case when c.is_whole then c.quantity
      else apportion(c.quantity, c.pieces, c.from_m, c.to_m, c.positions_m, c.cut_from_m, c.cut_to_m) end as quantity
    from cut c
    offset 0
  ), total as materialized (
    select s.cell, s.support_item_id, s.zone, sum(s.quantity) as quantity, count(*)::int as row_count
    from share s where s.quantity <> 0
    group by s.cell, s.support_item_id, s.zone
  )
  select place.project_code, place.drive_code, chainage_of_driven(place.start_chainage_m, place.direction, bound.from_m),
    chainage_of_driven(place.start_chainage_m, place.direction, bound.to_m),
    i.code, i.kind::text, i.description, i.unit::text, t.zone, t.quantity, t.row_count, place.id, bound.from_m, bound.to_m
  from total t
  cross join place
  join support_item i on i.id = t.support_item_id
  cross join lateral (
    select interval_from(t.cell, interval_m, place.origin_m) as from_m, interval_to(t.cell, interval_m, place.origin_m, place.length_m) as to_m
  ) bound;
end;

comment on function support_in_intervals(text, text, numeric) is
  'Support installed on a drive by intervals of the given length [m] on round chainages, item and zone; sums to support_total.';
