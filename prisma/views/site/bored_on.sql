-- The date by which the machine data for a boring are chosen: that of its shift; without a shift, the production day of its start; -infinity without
-- either, which selects the data in force from the beginning.
create or replace function bored_on(shift_date date, started_at timestamptz, time_zone text, day_start text)
returns date language sql immutable parallel safe
return coalesce(shift_date, production_day(started_at, time_zone, day_start), '-infinity');

comment on function bored_on(date, timestamptz, text, text) is
  'Date of a boring: of its shift, else the production day of its start; -infinity when it has neither.';
