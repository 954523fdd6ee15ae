-- The production day of an instant: the local date on which the day that holds it began.
create or replace function report.production_day(instant timestamptz, time_zone text, day_start text)
returns date language sql immutable parallel safe as $$
  select (timezone(time_zone, instant) - day_start::interval)::date
$$;

comment on function report.production_day(timestamptz, text, text) is
  'Production day of an instant: the local date on which the day began, given the project''s time zone and start of day.';
