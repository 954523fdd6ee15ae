-- utilisation_by over the whole record: one row per month.
create or replace view utilisation_by_month as
select p.code as project_code, d.code as drive_code, u.name as month, u.first_day, u.last_day, u.boring_hours, u.shift_hours, u.working_hours,
  u.calendar_hours, u.of_shift_time, u.of_working_time, u.of_calendar_time, d.id as drive_id,
  u.closed_hours, u.planned_closed_hours, u.of_open_time
from drive d
join project p on p.id = d.project_id
cross join lateral utilisation_by(d.id, 'month', null, null) u;
comment on view utilisation_by_month is 'Boring hours by month over each of its bases, which sum to the drive''s. [h]';
