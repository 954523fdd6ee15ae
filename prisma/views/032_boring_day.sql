-- One row a timed boring and production day that it falls in: its part bored within the day.
create or replace view report.boring_day as
select
  b.id as boring_id,
  b.drive_id,
  b.stroke_number,
  day.production_day,
  cut.from_m,
  cut.to_m,
  cut.to_m - cut.from_m as advance_m,
  extract(epoch from least(b.ended_at, cut.day_ends_at) - greatest(b.started_at, cut.day_starts_at)) as boring_seconds
from boring b
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
cross join lateral (
  select report.production_day(b.started_at, p.time_zone, p.day_start) + i as production_day
  from generate_series(0, report.production_day(b.ended_at - interval '1 millisecond', p.time_zone, p.day_start)
    - report.production_day(b.started_at, p.time_zone, p.day_start)) i
) day
cross join lateral (
  select report.production_day_start(day.production_day, p.time_zone, p.day_start) as day_starts_at,
    report.production_day_start(day.production_day + 1, p.time_zone, p.day_start) as day_ends_at
) bounds
cross join lateral (
  select report.bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, bounds.day_starts_at) as from_m,
    report.bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, bounds.day_ends_at) as to_m,
    bounds.day_starts_at, bounds.day_ends_at
) cut
where b.started_at is not null;

comment on view report.boring_day is 'Part of each timed boring that falls in a production day, split by boring time. [m, s]';
