-- End of a shift of the calendar that begins on a date: on the next day if its end is not after its start.
create or replace function calendar_shift_ends_at(shift_date date, start_time text, end_time text, time_zone text)
returns timestamptz language sql stable parallel safe
return timezone(time_zone, shift_date + (end_time <= start_time)::int + end_time::interval);

comment on function calendar_shift_ends_at(date, text, text, text) is 'Moment at which a shift of the calendar ends that begins on a local date.';
