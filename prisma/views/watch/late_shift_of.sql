-- One row per calendar shift of a drive that has ended and has not been posted: those of missing_shift, and those from the last one posted until the moment
-- asked for; closed days excluded. None is expected before the first shift of a drive, nor after the last once the face is at the end of the drive.
create or replace function late_shift_of(drive_id int) returns table (shift_date date, shift_name text, ended_at timestamptz)
language sql stable begin atomic
  select m.shift_date, m.shift_name, m.to_at from missing_shift m where m.drive_id = late_shift_of.drive_id and m.to_at <= (select moment_asked())
  union all
  select day::date, n.name, calendar_shift_ends_at(day::date, n.start_time, n.end_time, p.time_zone)
  from (select s.drive_id, max(s.shift_date) as last_date, max(s.starts_at) as last_at from shift s where s.drive_id = late_shift_of.drive_id
    group by s.drive_id) last
  join drive d on d.id = last.drive_id
  join project p on p.id = d.project_id
  cross join lateral generate_series(last.last_date::timestamp, timezone(p.time_zone, (select moment_asked()))::date::timestamp, interval '1 day') day
  join calendar_in_force n on n.project_id = p.id and day::date >= n.valid_from and day::date < n.valid_to
  where extract(isodow from day)::int = any (n.weekdays)
    and timezone(p.time_zone, day::date + n.start_time::interval) > last.last_at
    and calendar_shift_ends_at(day::date, n.start_time, n.end_time, p.time_zone) <= (select moment_asked())
    and not exists (select from closed_day c where c.drive_id = last.drive_id and c.closed_on = day::date)
    and not exists (select from boring b where b.drive_id = last.drive_id and b.to_m >= drive_length(d.start_chainage_m, d.end_chainage_m));
end;

comment on function late_shift_of(int) is
  'Shifts of the calendar of a drive that have ended and have not been posted, also after the last one posted; ended_at: by the calendar.';
