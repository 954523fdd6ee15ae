-- The bounds of intervals of interval_m on round chainages between two places, including both places. origin_m: chainage of the start in the
-- direction of the drive; null interval_m: only the two places.
create or replace function interval_bounds(origin_m numeric, low_m numeric, high_m numeric, interval_m numeric)
returns numeric[] language sql immutable parallel safe as $$
  select array(
    select low_m union select high_m
    union
    select k * interval_m - origin_m from generate_series(floor((origin_m + low_m) / interval_m) + 1, ceil((origin_m + high_m) / interval_m) - 1) k
    order by 1)
$$;

comment on function interval_bounds(numeric, numeric, numeric, numeric) is
  'Bounds of intervals on round chainages between two places, with both. [driven m]';
