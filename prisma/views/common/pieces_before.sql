-- How many of the pieces of a line over [from_m, to_m) lie before a place. Piece i of n lies at positions_m[i], or else at
-- from_m + (i - 1/2) * (to_m - from_m) / n; at one place (from_m = to_m) all of them lie there. Counted in integer millimetres, without a
-- quotient: (2i - 1) * length < 2n * distance.
create or replace function pieces_before(pieces numeric, from_m numeric, to_m numeric, positions_m numeric[], at_m numeric)
returns bigint language sql immutable parallel safe as $$
  select case
    when at_m <= from_m then 0
    when at_m >= to_m then pieces::bigint
    when positions_m is not null then width_bucket(at_m - 0.001, positions_m)
    else (2 * pieces::bigint * ceil((at_m - from_m) * 1000)::bigint + ((to_m - from_m) * 1000)::bigint - 1) / ((to_m - from_m) * 1000)::bigint / 2
  end
$$;

comment on function pieces_before(numeric, numeric, numeric, numeric[], numeric) is
  'Number of the pieces of a line that lie before a place [driven m]: at positions_m where they are given, else evenly along its interval.';
