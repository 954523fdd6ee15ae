-- The production day that contains an instant, from its production_day_start to before that of the next: by local time, less one day where the clock
-- shows the start of day too early, as in the hour of a clock change. (make_interval, because a cast from text is not immutable and would keep the
-- planner from inlining the function.)
create or replace function production_day(instant timestamptz, time_zone text, day_start text)
returns date language sql immutable parallel safe
return (timezone(time_zone, instant) - make_interval(hours => left(day_start, 2)::int, mins => right(day_start, 2)::int))::date
  - (instant < production_day_start(
      (timezone(time_zone, instant) - make_interval(hours => left(day_start, 2)::int, mins => right(day_start, 2)::int))::date, time_zone, day_start))::int;

comment on function production_day(timestamptz, text, text) is
  'Production day of an instant: the local date on which the day began, given the project''s time zone and start of day; inverse of production_day_start.';
