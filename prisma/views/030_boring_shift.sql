-- One row a timed boring and shift that it falls in: its part bored within the shift.
create or replace view boring_shift as
select
  s.id as shift_id,
  b.id as boring_id,
  b.drive_id,
  b.stroke_number,
  cut.from_m,
  cut.to_m,
  cut.to_m - cut.from_m as advance_m,
  extract(epoch from least(b.ended_at, s.ends_at) - greatest(b.started_at, s.starts_at)) as boring_seconds
from shift s
join boring b on b.drive_id = s.drive_id and tstzrange(b.started_at, b.ended_at) && tstzrange(s.starts_at, s.ends_at) and b.started_at is not null
cross join lateral (
  select bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, s.starts_at) as from_m,
    bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, s.ends_at) as to_m
) cut;

comment on view boring_shift is 'Part of each timed boring that falls in a shift, split by boring time. [m, s]';
