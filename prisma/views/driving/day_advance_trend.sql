-- One row per production day: its advance beside the means of the 7 and 30 production days that end with it, including days without boring.
-- Null until there are enough days.
create or replace view day_advance_trend as
select
  project_code, drive_code, production_day, advance_m,
  case when count(*) over seven = 7 then round(sum(advance_m) over seven / 7, 3) end as mean_7_days_m,
  case when count(*) over thirty = 30 then round(sum(advance_m) over thirty / 30, 3) end as mean_30_days_m,
  cumulative_m, drive_id
from day_advance
window seven as (partition by drive_id order by production_day rows between 6 preceding and current row),
  thirty as (partition by drive_id order by production_day rows between 29 preceding and current row);

comment on view day_advance_trend is 'One row per production day of the drive: day_advance with its moving averages.';
comment on column day_advance_trend.advance_m is 'Metres bored in the day, as in day_advance. [m]';
comment on column day_advance_trend.mean_7_days_m is 'Mean of the 7 production days that end with this one; null before the seventh. [m/d]';
comment on column day_advance_trend.mean_30_days_m is 'Mean of the 30 production days that end with this one; null before the thirtieth. [m/d]';
comment on column day_advance_trend.cumulative_m is 'Sum of the advance of this and all earlier days of the drive. [m]';
