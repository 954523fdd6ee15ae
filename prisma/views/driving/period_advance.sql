-- Advance by ISO week, month and quarter of the production day: sums of day_advance. One row per period from the drive's first day to its last,
-- even if nothing was bored. Strokes are counted anew: a stroke that spans two days is one stroke of the week.
create or replace view period_advance as
select
  period.project_code, period.drive_code, period.kind, period.label, period.first_day, period.next_day - 1 as last_day, span.starts_at, span.ends_at,
  period.day_count, period.days_with_boring, period.advance_m, stroke.stroke_count, period.boring_hours,
  round(period.advance_m / period.day_count, 3) as mean_m_per_day, period.from_chainage_m, period.face_chainage_m, period.cumulative_m,
  period.drive_id
from (
  select
    day.project_code, day.drive_code, day.drive_id, cut.kind, cut.label, cut.first_day::date as first_day, (cut.first_day + cut.length)::date as next_day,
    count(*)::int as day_count, (count(*) filter (where day.stroke_count > 0))::int as days_with_boring, sum(day.advance_m) as advance_m,
    sum(day.boring_hours) as boring_hours, max(day.cumulative_m) as cumulative_m,
    d.direction * min(d.direction * day.from_chainage_m) as from_chainage_m, d.direction * max(d.direction * day.face_chainage_m) as face_chainage_m,
    d.project_id
  from day_advance day
  join drive d on d.id = day.drive_id
  cross join lateral (values
    ('week', to_char(day.production_day::timestamp, 'IYYY"-W"IW'), date_trunc('week', day.production_day::timestamp), interval '7 days'),
    ('month', to_char(day.production_day::timestamp, 'YYYY-MM'), date_trunc('month', day.production_day::timestamp), interval '1 month'),
    ('quarter', to_char(day.production_day::timestamp, 'YYYY"-Q"Q'), date_trunc('quarter', day.production_day::timestamp), interval '3 months')
  ) cut(kind, label, first_day, length)
  group by day.project_code, day.drive_code, day.drive_id, d.direction, d.project_id, cut.kind, cut.label, cut.first_day, cut.length
) period
join project p on p.id = period.project_id
cross join lateral (
  select production_day_start(period.first_day, p.time_zone, p.day_start) as starts_at,
    production_day_start(period.next_day, p.time_zone, p.day_start) as ends_at
) span
cross join lateral (
  select coalesce(max(started_at), '-infinity') as first_at from boring where drive_id = period.drive_id and started_at <= span.starts_at
) begun
cross join lateral (
  select count(distinct stroke_number)::int as stroke_count from boring b
  where b.drive_id = period.drive_id and b.started_at >= begun.first_at and b.started_at < span.ends_at and b.ended_at > span.starts_at
    and (p.stroke_day = 'split_by_time' or b.ended_at <= span.ends_at and not exists ( -- as in boring_day: those that end in the period
      select from boring o where o.drive_id = b.drive_id and o.stroke_number = b.stroke_number and o.ended_at > span.ends_at))
) stroke;

comment on view period_advance is
  'Advance of a drive by ISO week, month and quarter (kind) of the production day; week_advance, month_advance and quarter_advance show one kind each.';
comment on column period_advance.label is 'Name of the period: 2027-W09, 2027-03 or 2027-Q1.';
comment on column period_advance.last_day is 'Last production day of the whole period, also where the record ends earlier.';
comment on column period_advance.ends_at is 'Instant at which the period ends; with starts_at it says the hours, 23 and 25 h days included.';
comment on column period_advance.day_count is 'Production days of the period from the drive''s first to its last.';
comment on column period_advance.days_with_boring is 'Those of them with boring.';
comment on column period_advance.advance_m is 'Metres bored: sum of day_advance. [m]';
comment on column period_advance.stroke_count is 'Strokes bored at, each once.';
comment on column period_advance.boring_hours is 'Boring time: sum of day_advance. [h]';
comment on column period_advance.mean_m_per_day is 'advance_m over day_count. [m/d]';
comment on column period_advance.from_chainage_m is 'Where the period''s first boring began; null when none. [m]';
comment on column period_advance.face_chainage_m is 'Where the period''s last boring ended; null when none. [m]';
comment on column period_advance.cumulative_m is 'Sum of the advance of this and all earlier days of the drive. [m]';
