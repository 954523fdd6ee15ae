-- The date by which the data of the machine for a boring are found: that of its shift; of one without a shift, the production
-- day of its start; -infinity for one without either, which so takes the data that are valid from the beginning.
create or replace function bored_on(shift_date date, started_at timestamptz, time_zone text, day_start text)
returns date language sql immutable parallel safe
return coalesce(shift_date, production_day(started_at, time_zone, day_start), '-infinity');

comment on function bored_on(date, timestamptz, text, text) is
  'Date of a boring: of its shift, else the production day of its start; -infinity when it has neither.';
