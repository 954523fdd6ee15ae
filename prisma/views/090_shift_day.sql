-- One row a shift and production day that it falls in: its part within the day. The days are those from the one before
-- its first to the third after (offset 0: made once a shift), so that the parts fill the shift wherever clocks change.
create or replace view shift_day as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  s.state::text as state,
  day.production_day,
  greatest(s.starts_at, day.starts_at) as starts_at,
  least(s.ends_at, day.ends_at) as ends_at,
  round(extract(epoch from least(s.ends_at, day.ends_at) - greatest(s.starts_at, day.starts_at)), 3) as seconds,
  s.drive_id,
  s.id as shift_id
from shift s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
join calendar_shift n on n.id = s.calendar_shift_id
cross join lateral (
  select first.production_day + i as production_day, production_day_start(first.production_day + i, p.time_zone, p.day_start) as starts_at,
    production_day_start(first.production_day + i + 1, p.time_zone, p.day_start) as ends_at
  from (select production_day(s.starts_at, p.time_zone, p.day_start) as production_day) first, generate_series(-1, 3) i
  offset 0
) day
where day.starts_at < s.ends_at and day.ends_at > s.starts_at;

comment on view shift_day is 'Part of each shift that falls in a production day; the parts fill the shift. [s]';
comment on column shift_day.seconds is 'Length of the part, exact. [s]';
