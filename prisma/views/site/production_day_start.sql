-- The instant at which a production day begins; 23 and 25 h days follow from the time zone. If the clocks change at the start of day, PostgreSQL's rule
-- applies, as for the shifts of the calendar: a time that is skipped is read with the offset before the change (02:30 is 03:30), for one that occurs
-- twice the second counts, and the days stay without gap or overlap.
create or replace function production_day_start(production_day date, time_zone text, day_start text)
returns timestamptz language sql immutable parallel safe
return timezone(time_zone, production_day + make_interval(hours => left(day_start, 2)::int, mins => right(day_start, 2)::int));

comment on function production_day_start(date, text, text) is
  'Instant at which a production day begins, given the project''s time zone and start of day; skipped by the clocks: as much later as they skip; twice: the '
  'second.';
