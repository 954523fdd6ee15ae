-- One row per shift and time class: the sums of shift_quarter_hour, which add up to the shift.
create or replace view shift_time_class as
select project_code, drive_code, shift_date, shift_name, counts_as, sum(seconds) as seconds, drive_id, shift_id
from shift_quarter_hour
group by project_code, drive_code, shift_date, shift_name, counts_as, drive_id, shift_id;

comment on view shift_time_class is 'Time of each shift by time class, and unbooked time; together they add up to the shift. [s]';
comment on column shift_time_class.counts_as is 'Time class; null: not booked.';
comment on column shift_time_class.seconds is 'Time of the class in the shift. [s]';
