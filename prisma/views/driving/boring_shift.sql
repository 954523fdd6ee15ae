-- One row per timed boring and shift in which it falls: the part bored within the shift. Borings of a drive do not overlap in time, so those of
-- a shift start with the last one that began before it.
create or replace view boring_shift as
select
  s.id as shift_id,
  b.id as boring_id,
  s.drive_id,
  b.stroke_number,
  cut.from_m,
  cut.to_m,
  cut.to_m - cut.from_m as advance_m,
  seconds_within(b.started_at, b.ended_at, s.starts_at, s.ends_at) as boring_seconds
from shift s
cross join lateral (
  select coalesce(max(started_at), '-infinity') as first_at from boring where drive_id = s.drive_id and started_at <= s.starts_at
) begun
cross join lateral ( -- offset 0: found for each shift by the index on both bounds
  select * from boring where drive_id = s.drive_id and started_at >= begun.first_at and started_at < s.ends_at and ended_at > s.starts_at offset 0
) b
cross join lateral (
  select bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, s.starts_at) as from_m,
    bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, s.ends_at) as to_m
) cut;

comment on view boring_shift is 'Part of each timed boring that falls in a shift, split by boring time. [m, s]';
