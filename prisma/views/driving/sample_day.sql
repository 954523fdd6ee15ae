-- One row per production day with machine samples. The days are generated between the drive's first and last sample, and each finds its samples
-- by their key.
create or replace view sample_day as
select
  p.code as project_code, d.code as drive_code, span.first_day + i as production_day, n.sample_count, n.first_at, n.last_at,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select production_day((select at from machine_sample where drive_id = d.id order by at limit 1), p.time_zone, p.day_start) as first_day,
    production_day((select at from machine_sample where drive_id = d.id order by at desc limit 1), p.time_zone, p.day_start) as last_day
) span
cross join lateral generate_series(0, span.last_day - span.first_day) i
cross join lateral (
  select count(*)::int as sample_count, min(at) as first_at, max(at) as last_at from machine_sample
  where drive_id = d.id and at >= production_day_start(span.first_day + i, p.time_zone, p.day_start)
    and at < production_day_start(span.first_day + i + 1, p.time_zone, p.day_start)
  offset 0
) n
where n.sample_count > 0;

comment on view sample_day is 'One row per production day of the drive that has machine samples.';
comment on column sample_day.production_day is 'Local date on which the production day begins.';
comment on column sample_day.sample_count is 'Samples of the day.';
comment on column sample_day.first_at is 'Moment of its first sample.';
comment on column sample_day.last_at is 'Moment of its last sample.';
