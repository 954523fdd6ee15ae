-- Intervals on round chainages are numbered by chainage in the direction of the drive: the one that contains a place. The beginning belongs to
-- the interval, the end to the next one.
-- axis_m: chainage of the place in the direction of the drive.
create or replace function interval_holding(axis_m numeric, interval_m numeric) returns numeric language sql immutable parallel safe as $$
  select floor(axis_m / interval_m)
$$;

comment on function interval_holding(numeric, numeric) is 'Number of the interval on round chainages that holds a place.';
