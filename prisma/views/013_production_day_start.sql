-- The instant at which a production day begins; 23 and 25 h days follow from the time zone.
create or replace function production_day_start(production_day date, time_zone text, day_start text)
returns timestamptz language sql immutable parallel safe as $$
  select timezone(time_zone, production_day + make_interval(hours => left(day_start, 2)::int, mins => right(day_start, 2)::int))
$$;

comment on function production_day_start(date, text, text) is
  'Instant at which a production day begins, given the project''s time zone and start of day.';
