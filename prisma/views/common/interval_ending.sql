-- The last interval on round chainages that extends up to a place: see interval_holding.
create or replace function interval_ending(axis_m numeric, interval_m numeric) returns numeric language sql immutable parallel safe as $$
  select ceil(axis_m / interval_m) - 1
$$;

comment on function interval_ending(numeric, numeric) is 'Number of the last interval on round chainages that begins before a place.';
