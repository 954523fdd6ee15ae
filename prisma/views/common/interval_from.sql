-- Intervals on round chainages are numbered by chainage in the direction of the drive: the beginning of one within the drive; its end is
-- interval_to. origin_m: chainage of the start in the direction of the drive.
create or replace function interval_from(number numeric, interval_m numeric, origin_m numeric) returns numeric language sql immutable parallel safe as $$
  select greatest(number * interval_m - origin_m, 0)
$$;

comment on function interval_from(numeric, numeric, numeric) is
  'Begin of a numbered interval on round chainages, not before the start of the drive. [driven m]';
