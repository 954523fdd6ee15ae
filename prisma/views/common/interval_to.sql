-- Where a numbered interval on round chainages ends: see interval_from.
create or replace function interval_to(number numeric, interval_m numeric, origin_m numeric, length_m numeric) returns numeric
  language sql immutable parallel safe as $$
  select least((number + 1) * interval_m - origin_m, length_m)
$$;

comment on function interval_to(numeric, numeric, numeric, numeric) is
  'End of a numbered interval on round chainages, not beyond a length of the drive. [driven m]';
