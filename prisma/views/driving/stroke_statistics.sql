-- One row per interval of the given length and quantity. Intervals lie on round chainages and are half open along the drive; a
-- stroke counts as a whole in the interval that contains its middle.
create or replace function stroke_statistics(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, quantity text, unit text, stroke_count int,
  mean float8, median float8, p10 float8, p90 float8, length_weighted_mean float8, time_weighted_mean float8, drive_id int,
  from_m numeric, to_m numeric, place int)
language sql stable begin atomic
  with line as (
    select d.id, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      drive_length(d.start_chainage_m, d.end_chainage_m) as length_m
    from drive d join project p on p.id = d.project_id where p.code = project and d.code = drive
  ), cell as (
    select interval_holding(line.origin_m + (s.from_m + s.to_m) / 2, interval_m) as number, array_agg(s.stroke order by s.stroke_number) as strokes
    from line
    cross join lateral ( -- offset 0: that drive's strokes only
      select k.stroke, k.stroke_number, k.from_m, k.to_m from stroke_counted k where k.drive_id = line.id offset 0
    ) s
    group by 1
  )
  select project, drive, chainage_of_driven(line.start_chainage_m, line.direction, ends.from_m),
    chainage_of_driven(line.start_chainage_m, line.direction, ends.to_m), t.quantity,
    t.unit, t.stroke_count, t.mean, t.median, t.p10, t.p90, t.length_weighted_mean, t.time_weighted_mean, line.id, ends.from_m, ends.to_m, t.place
  from line
  cross join cell
  cross join lateral (
    select interval_from(cell.number, interval_m, line.origin_m) as from_m, interval_to(cell.number, interval_m, line.origin_m, line.length_m) as to_m
  ) ends
  cross join lateral stroke_statistics_of(cell.strokes) t;
end;

comment on function stroke_statistics(text, text, numeric) is
  'Statistics of the strokes of a drive by intervals of the given length [m] on round chainages, one row per interval and quantity; columns as '
  'stroke_statistics_by_drive.';
