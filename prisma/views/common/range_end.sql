-- Exclusive end of a range of the drive between two places: the further place or, at the end of the drive, one millimetre beyond it, to include it.
create or replace function range_end(a_m numeric, b_m numeric, length_m numeric) returns numeric language sql immutable parallel safe as $$
  select greatest(a_m, b_m) + case when greatest(a_m, b_m) = length_m then 0.001 else 0 end
$$;

comment on function range_end(numeric, numeric, numeric) is
  'End of a half-open range between two places [driven m]; closed at the end of the drive. [driven m]';
