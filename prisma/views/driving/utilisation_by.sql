-- Boring time over three bases, each named: shift time; shift time without that booked as outside working time; and calendar time from the date in
-- the drive's contract, otherwise from its first shift, to its last. For the drive (period 'drive'), or by 'week' or 'month' of the production days;
-- weeks without a shift are included with their calendar time, so that each base sums to the drive's.
-- Closures of the site count in calendar time; their part is given separately: the time of closed days outside any shift.
-- Open time is calendar time less planned closures, so it includes all time worked.
create or replace function utilisation_by(drive int, period text, from_day date, to_day date)
returns table (name text, first_day date, last_day date, boring_hours numeric, shift_hours numeric, working_hours numeric, calendar_hours numeric,
  of_shift_time numeric, of_working_time numeric, of_calendar_time numeric,
  closed_hours numeric, planned_closed_hours numeric, of_open_time numeric)
language sql stable begin atomic
  with known as (
    select p.time_zone, p.day_start, coalesce(production_day_start(d.calendar_from, p.time_zone, p.day_start), s.first_at) as first_at, s.last_at,
      least(d.calendar_from, production_day(s.first_at, p.time_zone, p.day_start)) as first_day,
      production_day(s.last_at - interval '1 millisecond', p.time_zone, p.day_start) as last_day
    from drive d
    join project p on p.id = d.project_id
    cross join lateral (select min(starts_at) as first_at, max(ends_at) as last_at from shift where drive_id = d.id) s
    where d.id = utilisation_by.drive
  ), day as (
    select known.first_day + i as production_day,
      greatest(round(seconds_within(span.starts_at, span.ends_at, known.first_at, known.last_at), 3), 0) as seconds
    from known
    cross join lateral generate_series(0, known.last_day - known.first_day) i
    cross join lateral (
      select production_day_start(known.first_day + i, known.time_zone, known.day_start) as starts_at,
        production_day_start(known.first_day + i + 1, known.time_zone, known.day_start) as ends_at
    ) span
    where known.first_day + i >= coalesce(utilisation_by.from_day, '-infinity')
      and known.first_day + i <= coalesce(utilisation_by.to_day, 'infinity')
  ), worked as (
    select production_day, sum(seconds) as seconds from shift_day where drive_id = utilisation_by.drive group by production_day
  ), booked as (
    select production_day, coalesce(sum(seconds) filter (where counts_as = 'boring'), 0) as boring,
      coalesce(sum(seconds) filter (where counts_as = 'outside_working_time'), 0) as outside
    from booked_part where drive_id = utilisation_by.drive group by production_day
  ), base as (
    select case period when 'week' then to_char(day.production_day, 'IYYY-"W"IW') when 'month' then to_char(day.production_day, 'YYYY-MM') end as name,
      min(day.production_day) as first_day, max(day.production_day) as last_day, coalesce(sum(booked.boring), 0) as boring,
      coalesce(sum(booked.boring) filter (where day.seconds > 0), 0) as boring_in_calendar, coalesce(sum(worked.seconds), 0) as shifts,
        coalesce(sum(worked.seconds), 0) - coalesce(sum(booked.outside), 0) as working,
      sum(day.seconds) as calendar, coalesce(sum(greatest(day.seconds - coalesce(worked.seconds, 0), 0)) filter (where closed.closed_on is not null),
        0) as closed,
      coalesce(sum(greatest(day.seconds - coalesce(worked.seconds, 0), 0)) filter (where closed.planned), 0) as planned
    from day
    left join worked on worked.production_day = day.production_day
    left join booked on booked.production_day = day.production_day
    left join closed_day closed on closed.drive_id = utilisation_by.drive and closed.closed_on = day.production_day
    group by 1
  )
  select name, first_day, last_day, boring / 3600, shifts / 3600, working / 3600, calendar / 3600,
    round(boring / nullif(shifts, 0), 6), round(boring / nullif(working, 0), 6), round(boring_in_calendar / nullif(calendar, 0), 6),
    closed / 3600, planned / 3600, round(boring_in_calendar / nullif(calendar - planned, 0), 6)
  from base;
end;

comment on function utilisation_by(int, text, date, date) is
  'Utilisation of a drive, by week or by month: boring hours over shift time, working time, calendar time, and this without planned closures; from and to '
  'production days.';
