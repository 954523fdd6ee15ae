-- Dimension: every day from the first to the last in any fact, with ISO week and month.
create or replace view dim_date as
select
  day.date,
  extract(isoyear from day.date)::int as iso_year,
  extract(week from day.date)::int as iso_week_number,
  to_char(day.date, 'IYYY-"W"IW') as iso_week,
  date_trunc('week', day.date::timestamp)::date as week_start,
  extract(isodow from day.date)::int as iso_weekday,
  extract(year from day.date)::int as year,
  extract(quarter from day.date)::int as quarter,
  extract(month from day.date)::int as month_number,
  to_char(day.date, 'YYYY-MM') as month,
  date_trunc('month', day.date::timestamp)::date as month_start
from (
  select min(d) as first_day, max(d) as last_day
  from (
    select min(shift_date) - 1 as d from shift union all select max(shift_date) + 1 from shift
    union all select timezone('UTC', min(started_at))::date - 1 from boring union all select timezone('UTC', max(ended_at))::date + 1 from boring
    union all select timezone('UTC', min(installed_at))::date - 1 from support_installed union all select timezone('UTC', max(installed_at))::date + 1
      from support_installed
    union all select timezone('UTC', min(drilled_at))::date - 1 from probe_hole union all select timezone('UTC', max(drilled_at))::date + 1 from probe_hole
    union all select timezone('UTC', min(measured_at))::date - 1 from inflow_measurement union all select timezone('UTC', max(measured_at))::date + 1
      from inflow_measurement
    union all select min(cut_off) from valuation union all select max(cut_off) from valuation
  ) known
) span
cross join lateral (select span.first_day + i as date from generate_series(0, span.last_day - span.first_day) i) day;

comment on view dim_date is 'Dimension: one row per day, for all production days and cut-offs that the facts name.';
comment on column dim_date.date is 'The day: joins production_day, shift_date or cut_off.';
comment on column dim_date.iso_year is 'Year of the ISO week (ISO 8601).';
comment on column dim_date.iso_week_number is 'Number of the ISO week, 1 to 53.';
comment on column dim_date.iso_week is 'ISO week, such as 2027-W09.';
comment on column dim_date.week_start is 'Monday of the ISO week.';
comment on column dim_date.iso_weekday is '1 Monday to 7 Sunday.';
comment on column dim_date.year is 'Calendar year.';
comment on column dim_date.quarter is 'Quarter of the calendar year, 1 to 4.';
comment on column dim_date.month_number is 'Month of the calendar year, 1 to 12.';
comment on column dim_date.month is 'Month, such as 2027-03.';
comment on column dim_date.month_start is 'First day of the month.';
