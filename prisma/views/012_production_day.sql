-- The production day of an instant: the local date on which the day that holds it began. (make_interval, as a cast from
-- text is not immutable and would keep the planner from inlining the function.)
create or replace function production_day(instant timestamptz, time_zone text, day_start text)
returns date language sql immutable parallel safe as $$
  select (timezone(time_zone, instant) - make_interval(hours => left(day_start, 2)::int, mins => right(day_start, 2)::int))::date
$$;

comment on function production_day(timestamptz, text, text) is
  'Production day of an instant: the local date on which the day began, given the project''s time zone and start of day.';
