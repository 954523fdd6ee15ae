-- One row an interval of the given length, item and zone. Intervals lie on round chainages and are half open along the
-- drive; quantities given over an interval are apportioned along it, pieces by where each stands. What stands at the very end belongs to the last one.
create or replace function support_in_intervals(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, item_code text, kind text,
  description text, unit text, zone text, quantity numeric, row_count int, drive_id int, from_m numeric, to_m numeric)
language sql stable begin atomic
  with place as (
    select d.id, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      abs(d.end_chainage_m - d.start_chainage_m) as length_m,
      ceil(d.direction * d.end_chainage_m / interval_m) - 1 as last_cell
    from drive d join project p on p.id = d.project_id where p.code = project and d.code = drive
  ), part as (
    select r.*, cell, place.origin_m, place.length_m, place.direction, place.start_chainage_m,
      case when r.from_m = r.to_m then r.quantity
        else apportion(r.quantity, r.pieces, r.from_m, r.to_m, r.positions_m, cell * interval_m - place.origin_m, (cell + 1) * interval_m - place.origin_m)
      end as share
    from place
    join support_row r on r.drive_id = place.id
    cross join lateral generate_series(
      least(floor((place.origin_m + r.from_m) / interval_m), place.last_cell),
      case when r.from_m = r.to_m then least(floor((place.origin_m + r.from_m) / interval_m), place.last_cell)
        else ceil((place.origin_m + r.to_m) / interval_m) - 1 end) cell
  ), bounded as (
    select *, greatest(cell * interval_m - origin_m, 0) as cell_from_m, least((cell + 1) * interval_m - origin_m, length_m) as cell_to_m
    from part where share <> 0
  )
  select project_code, drive_code, start_chainage_m + direction * cell_from_m, start_chainage_m + direction * cell_to_m, item_code, kind,
    description, unit, zone, sum(share), count(distinct support_installed_id)::int, drive_id, cell_from_m, cell_to_m
  from bounded
  group by project_code, drive_code, start_chainage_m, direction, cell_from_m, cell_to_m, item_code, kind, description, unit, zone, drive_id;
end;

comment on function support_in_intervals(text, text, numeric) is
  'Support installed on a drive by intervals of the given length [m] on round chainages, item and zone; sums to support_total.';
