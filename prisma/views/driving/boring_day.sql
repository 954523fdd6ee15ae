-- One row per timed boring and production day in which it counts, by the project's setting: split, with the part bored within the day; or whole,
-- in the day on which its stroke ends. All figures by day, week and month are based on it. The days are generated once per drive (offset 0 keeps
-- the planner from generating them for each boring) and joined to the borings by their time index.
create or replace view boring_day as
select
  b.id as boring_id, d.id as drive_id, b.stroke_number, day.production_day, cut.from_m, cut.to_m, cut.to_m - cut.from_m as advance_m,
  seconds_within(b.started_at, b.ended_at, day.starts_at, day.ends_at) as boring_seconds
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select production_day(known.first_at, p.time_zone, p.day_start) as first_day,
    production_day(known.last_at - interval '1 millisecond', p.time_zone, p.day_start) as last_day
  from ( -- borings do not overlap: the last to begin is the last to end, and is found by the index
    select (select min(started_at) from boring where drive_id = d.id) as first_at,
      (select ended_at from boring where drive_id = d.id and started_at is not null order by started_at desc limit 1) as last_at
    offset 0
  ) known
) span
cross join lateral (
  select span.first_day + i as production_day, production_day_start(span.first_day + i, p.time_zone, p.day_start) as starts_at,
    production_day_start(span.first_day + i + 1, p.time_zone, p.day_start) as ends_at
  from generate_series(0, span.last_day - span.first_day) i
  offset 0
) day
cross join lateral (
  select coalesce(max(started_at), '-infinity') as first_at from boring where drive_id = d.id and started_at <= day.starts_at
) begun
cross join lateral (
  select * from boring where drive_id = d.id and started_at >= begun.first_at and started_at < day.ends_at and ended_at > day.starts_at offset 0
) b
cross join lateral (
  select bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, day.starts_at) as from_m,
    bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, day.ends_at) as to_m
) cut
where p.stroke_day = 'split_by_time'
union all
select b.id, d.id, b.stroke_number, production_day(b.stroke_ended_at - interval '1 millisecond', p.time_zone, p.day_start), b.from_m, b.to_m,
  b.to_m - b.from_m, extract(epoch from b.ended_at - b.started_at)
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select *, max(ended_at) over (partition by stroke_number) as stroke_ended_at from boring where drive_id = d.id and started_at is not null
) b
where p.stroke_day = 'whole_at_end';

comment on view boring_day is
  'Each timed boring by the production day that it counts in: split by boring time, or whole in the day on which its stroke ends, as the project says. [m, s]';
