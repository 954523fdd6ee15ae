-- One row per interval of the given length in which the face was when time was booked. Intervals lie on round chainages and are half open along
-- the drive; the end of the drive belongs to the last one.
create or replace function ledger_in_intervals(project text, drive text, interval_m numeric, from_day date default null, to_day date default null)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, seconds numeric, hours numeric, share numeric,
  activity_count int, mean_hours numeric, longest_hours numeric, drive_id int, from_m numeric, to_m numeric)
language sql stable begin atomic
  select p.code, d.code, chainage_of_driven(d.start_chainage_m, d.direction, bound.from_m), chainage_of_driven(d.start_chainage_m, d.direction, bound.to_m),
    l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id, bound.from_m, bound.to_m
  from drive d
  join project p on p.id = d.project_id
  cross join lateral ledger_by(d.id, 'interval', 'all', from_day, to_day, interval_m) l
  cross join lateral (
    select interval_from(l.key::numeric, interval_m, d.direction * d.start_chainage_m) as from_m,
      interval_to(l.key::numeric, interval_m, d.direction * d.start_chainage_m, drive_length(d.start_chainage_m, d.end_chainage_m)) as to_m
  ) bound
  where p.code = project and d.code = ledger_in_intervals.drive;
end;

comment on function ledger_in_intervals(text, text, numeric, date, date) is
  'Hours of a drive by intervals of the given length [m] on round chainages, by the position of the face when each activity began; from '
  'and to production days.';
