-- One row per shift, quarter of an hour by the clock and time class booked in it, and one without a class for unbooked time. The seconds of a
-- quarter sum to its length, those of a shift to the shift. The first and the last quarter are shorter if the shift begins or ends between
-- quarters. Offsets of time zones are whole quarters, so quarters by the clock are the same in any zone.
create or replace view shift_quarter_hour as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  q.number::int as quarter,
  q.starts_at,
  q.ends_at,
  timezone(p.time_zone, q.starts_at) as starts_local,
  t.counts_as,
  t.first_at,
  round(t.seconds, 3) as seconds,
  s.drive_id,
  s.id as shift_id
from shift s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
join calendar_shift n on n.id = s.calendar_shift_id
cross join lateral (
  select number, greatest(at, s.starts_at) as starts_at, least(at + interval '15 minutes', s.ends_at) as ends_at
  from generate_series(date_bin('15 minutes', s.starts_at, '2000-01-01 00:00Z'), s.ends_at - interval '1 millisecond', interval '15 minutes')
    with ordinality as quarter(at, number)
) q
cross join lateral (
  select c.counts_as::text as counts_as, min(greatest(a.started_at, q.starts_at)) as first_at,
    sum(seconds_within(a.started_at, a.ended_at, q.starts_at, q.ends_at)) as seconds
  from activity a join activity_code c on c.id = a.activity_code_id
  where a.shift_id = s.id and a.started_at < q.ends_at and a.ended_at > q.starts_at
  group by c.counts_as
  union all
  select null, null, gap.seconds
  from (
    select extract(epoch from q.ends_at - q.starts_at)
      - coalesce(sum(seconds_within(a.started_at, a.ended_at, q.starts_at, q.ends_at)), 0) as seconds
    from activity a where a.shift_id = s.id and a.started_at < q.ends_at and a.ended_at > q.starts_at
  ) gap
  where gap.seconds > 0
) t;

comment on view shift_quarter_hour is
  'Time of each shift by quarter of an hour and time class; unbooked time has no class. The seconds of a shift add up to its length. [s]';
comment on column shift_quarter_hour.quarter is 'Number of the quarter in the shift, from 1.';
comment on column shift_quarter_hour.starts_at is 'When the quarter begins within the shift.';
comment on column shift_quarter_hour.ends_at is 'When the quarter ends within the shift.';
comment on column shift_quarter_hour.starts_local is 'starts_at in the project''s time zone.';
comment on column shift_quarter_hour.counts_as is 'Time class; null: not booked.';
comment on column shift_quarter_hour.first_at is 'When the first time of the class in the quarter begins; null: not booked.';
comment on column shift_quarter_hour.seconds is 'Time of the class in the quarter. [s]';
