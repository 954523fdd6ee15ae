-- How much of a line over [from_mm, to_mm) lies before a place, in thousandths of its unit: the same as apportion_pieces and pieces_before, in
-- integers. By length it is rounded to a thousandth, counted from from_mm; for pieces it is a whole number of them. The product of a length
-- below 1,000 km and up to 4 million of a unit fits in 64 bits; larger ones are computed with decimals.
create or replace function laid_before(quantity bigint, is_counted boolean, from_mm int, to_mm int, positions_m numeric[], at_mm int)
returns bigint language sql immutable parallel safe as $$
  select case
    when at_mm <= from_mm then 0
    when at_mm >= to_mm then quantity
    when not is_counted then case when quantity <= 4000000000 then (2 * quantity * (at_mm - from_mm) + (to_mm - from_mm)) / (2::bigint * (to_mm - from_mm))
      else round(quantity::numeric * (at_mm - from_mm) / (to_mm - from_mm))::bigint end
    when positions_m is not null then 1000 * width_bucket((at_mm - 1) * 0.001, positions_m)
    else 1000 * ((2 * (quantity / 1000) * (at_mm - from_mm) + (to_mm - from_mm) - 1) / (to_mm - from_mm) / 2)
  end
$$;

comment on function laid_before(bigint, boolean, int, int, numeric[], int) is
  'How much of a line over an interval lies before a place, in thousandths of its unit; for pieces a whole number of them. [driven mm]';
