-- One row per interval of the given length in which overbreak was surveyed. Intervals lie on round chainages and are half open along
-- the drive; volumes are apportioned along their items. Surveyed metres are those covered by any item, including one of 0 m3. Their
-- theoretical volume is rounded at each end, counted from the start of the drive, so that it sums exactly as well.
create or replace function overbreak_in_intervals(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, surveyed_m numeric, theoretical_volume_m3 numeric,
  geological_volume_m3 numeric, operational_volume_m3 numeric, volume_m3 numeric, geological_percent numeric, operational_percent numeric,
  percent numeric, max_depth_m numeric, item_count int, drive_id int, from_m numeric, to_m numeric)
language sql stable begin atomic
  with place as (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      drive_length(d.start_chainage_m, d.end_chainage_m) as length_m, face_area(d.bored_diameter_m) as area_m2
    from drive d join project p on p.id = d.project_id where p.code = project and d.code = drive
  ), volume as (
    select cell, sum(part.m3) filter (where o.cause = 'geological') as geological_m3, sum(part.m3) filter (where o.cause = 'operational') as operational_m3,
      max(o.max_depth_m) as max_depth_m, count(*)::int as item_count
    from place
    join overbreak_item o on o.drive_id = place.id
    cross join lateral generate_series(interval_holding(place.origin_m + o.from_m, interval_m), interval_ending(place.origin_m + o.to_m, interval_m)) cell
    cross join lateral (
      select apportion(o.volume_m3, o.from_m, o.to_m, cell * interval_m - place.origin_m, (cell + 1) * interval_m - place.origin_m) as m3
    ) part
    group by cell
  ), surveyed as (
    select cell, sum(least(upper(r), (cell + 1) * interval_m - place.origin_m) - greatest(lower(r), cell * interval_m - place.origin_m)) as m
    from place
    cross join lateral (select unnest(range_agg(numrange(from_m, to_m))) as r from overbreak_item o where o.drive_id = place.id) covered
    cross join lateral generate_series(interval_holding(place.origin_m + lower(r), interval_m), interval_ending(place.origin_m + upper(r), interval_m)) cell
    group by cell
  ), theory as (
    select cell, m, round(area_m2 * sum(m) over (order by cell), 3) - round(area_m2 * (sum(m) over (order by cell) - m), 3) as m3
    from surveyed cross join place
  )
  select project_code, drive_code, chainage_of_driven(start_chainage_m, direction, bound.low_m), chainage_of_driven(start_chainage_m, direction, bound.high_m),
    t.m, t.m3,
    share.geological_m3, share.operational_m3, share.geological_m3 + share.operational_m3,
    round(100 * share.geological_m3 / nullif(t.m3, 0), 2), round(100 * share.operational_m3 / nullif(t.m3, 0), 2),
    round(100 * (share.geological_m3 + share.operational_m3) / nullif(t.m3, 0), 2),
    v.max_depth_m, v.item_count, place.id, bound.low_m, bound.high_m
  from place
  cross join volume v
  join theory t using (cell)
  cross join lateral (select coalesce(v.geological_m3, 0.000) as geological_m3, coalesce(v.operational_m3, 0.000) as operational_m3) share
  cross join lateral (select interval_from(cell, interval_m, origin_m) as low_m, interval_to(cell, interval_m, origin_m, length_m) as high_m) bound;
end;

comment on function overbreak_in_intervals(text, text, numeric) is
  'Overbreak of a drive by intervals of the given length [m] on round chainages: metres that items cover [m], their theoretical volume by the bored diameter '
  '[m3], volumes by cause [m3] and the same in percent of theory, the largest depth of the items that touch the interval [m], and how many do. Volumes sum to '
  'overbreak_total. Intervals without items are left out.';
