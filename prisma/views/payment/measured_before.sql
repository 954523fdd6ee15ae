-- What a record measures up to a place: for a line of pieces, what belongs to the pieces before it; otherwise its share by length. Rounded to a
-- billionth here, and to the item's decimals in the line, nowhere in between: the quantity between two places is a difference, so the parts of a
-- record sum to it exactly, however it is divided.
create or replace function measured_before(total numeric, pieces numeric, from_m numeric, to_m numeric, positions_m numeric[], at_m numeric)
returns numeric language sql immutable parallel safe begin atomic
  select case
    when at_m <= from_m then 0
    when at_m >= to_m then round(total, 9)
    when pieces is null then round(total * (at_m - from_m) * 1.000000000000 / (to_m - from_m), 9)
    else round(total * pieces_before(pieces, from_m, to_m, positions_m, at_m) * 1.000000000000 / pieces, 9)
  end;
end;

comment on function measured_before(numeric, numeric, numeric, numeric, numeric[], numeric) is
  'What a record measures up to a place [driven m], rounded to a billionth; null pieces: its share along the length. Parts are differences, and sum to the '
  'record exactly.';
