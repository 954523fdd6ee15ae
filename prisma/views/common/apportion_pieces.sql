-- The same for a line of pieces, where a piece belongs to the one cut that contains its position: of the number of pieces, an integer share; of
-- another figure of the line, such as its mass, the share of those pieces, rounded as above; the number itself needs no quotient.
-- Null pieces: shared by length.
create or replace function apportion(quantity numeric, pieces numeric, from_m numeric, to_m numeric, positions_m numeric[], cut_from_m numeric,
  cut_to_m numeric)
returns numeric language sql immutable parallel safe begin atomic
  select case
    when pieces is null then apportion(quantity, from_m, to_m, cut_from_m, cut_to_m)
    when quantity = pieces then (pieces_before(pieces, from_m, to_m, positions_m, cut_to_m) - pieces_before(pieces, from_m, to_m, positions_m,
      cut_from_m))::numeric(12, 3)
    else round(quantity * pieces_before(pieces, from_m, to_m, positions_m, cut_to_m) / pieces, 3)
       - round(quantity * pieces_before(pieces, from_m, to_m, positions_m, cut_from_m) / pieces, 3)
  end;
end;

comment on function apportion(numeric, numeric, numeric, numeric, numeric[], numeric, numeric) is
  'Share of a figure of a line of pieces that goes with those in a part of it; null pieces: its share along the length. Shares of any set of cuts sum to the '
  'figure exactly.';
