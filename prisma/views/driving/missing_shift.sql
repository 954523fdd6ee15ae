-- One row per shift of the calendar in force, between a drive's first and last shift, that has not been posted; closed days excluded.
create or replace view missing_shift as
select span.drive_id, day::date as shift_date, n.name as shift_name, timezone(p.time_zone, day::date + n.start_time::interval) as from_at,
  calendar_shift_ends_at(day::date, n.start_time, n.end_time, p.time_zone) as to_at
from (select drive_id, min(shift_date) as first_date, max(shift_date) as last_date, min(starts_at) as first_at, max(starts_at) as last_at
  from shift group by drive_id) span
join drive d on d.id = span.drive_id
join project p on p.id = d.project_id
cross join lateral generate_series(span.first_date::timestamp, span.last_date::timestamp, interval '1 day') day
join calendar_in_force n on n.project_id = p.id and day::date >= n.valid_from and day::date < n.valid_to
where extract(isodow from day)::int = any (n.weekdays)
  and timezone(p.time_zone, day::date + n.start_time::interval) between span.first_at and span.last_at
  and not exists (select from shift s where s.drive_id = span.drive_id and s.shift_date = day::date
    and s.calendar_shift_id = any (array(select k.id from calendar_shift k where k.name = n.name))) -- uses the index
  and not exists (select from closed_day c where c.drive_id = span.drive_id and c.closed_on = day::date);

comment on view missing_shift is 'Shifts of the calendar between the first and the last of a drive that have not been posted; on closed days none is expected.';
