-- One row per production day, from the drive's first shift or timed boring to its last. advance_m: 0 if none. [m]
-- Everything is computed within one drive, so that a query for one drive, by its id or its code, reads that drive only.
create or replace view day_advance as
select
  p.code as project_code, d.code as drive_code, day.production_day, day.advance_m, day.stroke_count, day.boring_hours,
  chainage_of_driven(d.start_chainage_m, d.direction, day.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, day.to_m) as face_chainage_m,
  day.cumulative_m,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select (span.first_day + i)::date as production_day, coalesce(b.advance_m, 0.000) as advance_m, coalesce(b.stroke_count, 0) as stroke_count,
    round(coalesce(b.boring_seconds, 0) / 3600, 4) as boring_hours, b.from_m, b.to_m,
    sum(coalesce(b.advance_m, 0.000)) over (order by i) as cumulative_m
  from (
    select production_day(min(first_at), p.time_zone, p.day_start) as first_day,
      production_day(max(last_at), p.time_zone, p.day_start) as last_day
    from (
      -- borings do not overlap: the last to begin is the last to end, and is found by the index
      select (select min(started_at) from boring where drive_id = d.id),
        (select ended_at from boring where drive_id = d.id and started_at is not null order by started_at desc limit 1) - interval '1 millisecond'
      union all
      select min(starts_at), max(starts_at) from shift where drive_id = d.id
    ) known(first_at, last_at)
  ) span
  cross join lateral generate_series(0, span.last_day - span.first_day) i
  left join (
    select production_day, sum(advance_m) as advance_m, count(distinct stroke_number)::int as stroke_count,
      sum(boring_seconds) as boring_seconds, min(from_m) as from_m, max(to_m) as to_m
    from boring_day where drive_id = d.id group by production_day
  ) b on b.production_day = span.first_day + i
) day;

comment on view day_advance is 'One row per production day of the drive: metres bored in it, as boring_day counts them; days without boring show 0.';
comment on column day_advance.production_day is 'Local date on which the production day begins.';
comment on column day_advance.advance_m is 'Metres bored in the day, 0 when none. [m]';
comment on column day_advance.boring_hours is 'Boring time of the strokes in the day. [h]';
comment on column day_advance.from_chainage_m is 'Where the day''s first boring began; null when none. [m]';
comment on column day_advance.face_chainage_m is 'Where the day''s last boring ended; null when none. [m]';
comment on column day_advance.cumulative_m is 'Sum of the advance of this and all earlier days of the drive. [m]';
