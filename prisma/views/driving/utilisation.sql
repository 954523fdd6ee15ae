-- utilisation_by over the whole record: one row per drive.
create or replace view utilisation as
select p.code as project_code, d.code as drive_code, u.first_day, u.last_day, u.boring_hours, u.shift_hours, u.working_hours, u.calendar_hours,
  u.of_shift_time, u.of_working_time, u.of_calendar_time, d.id as drive_id,
  u.closed_hours, u.planned_closed_hours, u.of_open_time
from drive d
join project p on p.id = d.project_id
cross join lateral utilisation_by(d.id, 'drive', null, null) u;

comment on view utilisation is 'Boring hours of a drive over each of its bases. [h]';
comment on column utilisation.shift_hours is 'Length of the shifts, booked or not. [h]';
comment on column utilisation.working_hours is 'Length of the shifts, excluding what is booked as outside working time. [h]';
comment on column utilisation.calendar_hours is
  'From the contract''s date for the calendar, else the start of the first shift, to the end of the last, closures of the site included. [h]';
comment on column utilisation.closed_hours is 'Of calendar_hours: the time of closed days outside of any shift. [h]';
comment on column utilisation.planned_closed_hours is 'Of closed_hours: those of planned closures. [h]';
comment on column utilisation.of_open_time is 'boring_hours / (calendar_hours - planned_closed_hours).';
comment on column utilisation.of_shift_time is 'boring_hours / shift_hours; null when there is none.';
comment on column utilisation.of_working_time is 'boring_hours / working_hours; null when there is none.';
comment on column utilisation.of_calendar_time is 'boring_hours / calendar_hours.';
