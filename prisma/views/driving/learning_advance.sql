-- One row per drive and length, 500 m and 1000 m: mean advance on the first metres of the drive compared with the rest. The first part lasts from
-- the start of the first timed boring until the face passes the length, the rest from then to the end of the last boring, in days of 24 h
-- including all standstills. Metres without times are in neither part.
create or replace view learning_advance as
select
  p.code as project_code, d.code as drive_code, part.first_length_m, part.passed_at, part.first_m,
  round(part.first_seconds / 86400, 4) as first_days, round(part.first_m * 86400 / nullif(part.first_seconds, 0), 3) as first_mean_m_per_day,
  part.rest_m, round(part.rest_seconds / 86400, 4) as rest_days,
  round(part.rest_m * 86400 / nullif(part.rest_seconds, 0), 3) as rest_mean_m_per_day, part.untimed_m, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select length.m as first_length_m, passed.at as passed_at, timed.first_m, timed.bored_m - timed.first_m as rest_m, timed.untimed_m,
    extract(epoch from coalesce(passed.at, timed.ended_at) - timed.started_at) as first_seconds,
    extract(epoch from timed.ended_at - passed.at) as rest_seconds
  from (values (500.000), (1000.000)) length(m)
  cross join lateral (
    select min(started_at) as started_at, max(ended_at) as ended_at, coalesce(sum(to_m - from_m) filter (where started_at is not null), 0.000) as bored_m,
      coalesce(sum(least(to_m, length.m) - from_m) filter (where started_at is not null and from_m < length.m), 0.000) as first_m,
      coalesce(sum(to_m - from_m) filter (where started_at is null), 0.000) as untimed_m
    from boring where drive_id = d.id
  ) timed
  left join lateral ( -- the inverse of bored_until, to the millisecond
    select case when from_m >= length.m then started_at
      else date_trunc('milliseconds',
        started_at + make_interval(secs => (extract(epoch from ended_at - started_at) * (length.m - from_m) / (to_m - from_m))::float8))
      end as at
    from boring where drive_id = d.id and started_at is not null and to_m >= length.m order by to_m limit 1
  ) passed on true
  where timed.started_at is not null
) part;

comment on view learning_advance is
  'One row per drive and length (500 m, 1000 m): plain mean advance per calendar day on the first metres of the drive against the rest. It shows learning only '
  'as far as the ground is comparable.';
comment on column learning_advance.first_length_m is 'Length from the start of the drive that counts as first. [m]';
comment on column learning_advance.passed_at is 'When the face passed that length; null when it has not.';
comment on column learning_advance.first_m is 'Metres bored on it, with times. [m]';
comment on column learning_advance.first_days is 'From the start of the first timed boring until passed_at, or to the end of the last timed one. [d of 24 h]';
comment on column learning_advance.first_mean_m_per_day is 'first_m over first_days; null when it took no time. [m/d]';
comment on column learning_advance.rest_m is 'Metres bored beyond it, with times. [m]';
comment on column learning_advance.rest_days is 'From passed_at to the end of the last timed boring; null when not passed. [d of 24 h]';
comment on column learning_advance.rest_mean_m_per_day is 'rest_m over rest_days; null when there is none. [m/d]';
comment on column learning_advance.untimed_m is 'Metres of the drive bored without times: in neither part. [m]';
