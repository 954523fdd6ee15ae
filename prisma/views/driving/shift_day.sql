-- One row per shift and production day in which it falls: its part within the day. The days are generated once per shift (offset 0).
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
  round(seconds_within(s.starts_at, s.ends_at, day.starts_at, day.ends_at), 3) as seconds,
  s.drive_id,
  s.id as shift_id
from shift s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
join calendar_shift n on n.id = s.calendar_shift_id
cross join lateral (
  select span.first_day + i as production_day, production_day_start(span.first_day + i, p.time_zone, p.day_start) as starts_at,
    production_day_start(span.first_day + i + 1, p.time_zone, p.day_start) as ends_at
  from (
    select production_day(s.starts_at, p.time_zone, p.day_start) as first_day,
      production_day(s.ends_at - interval '1 millisecond', p.time_zone, p.day_start) as last_day
  ) span
  cross join lateral generate_series(0, span.last_day - span.first_day) i
  offset 0
) day;

comment on view shift_day is 'Part of each shift that falls in a production day; the parts fill the shift. [s]';
comment on column shift_day.seconds is 'Length of the part, exact. [s]';
