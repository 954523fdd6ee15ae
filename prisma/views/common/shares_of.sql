-- The share of each quantity in their sum, in millionths that sum to exactly a million: each is rounded down, and the remaining ones go, one each, to
-- the largest remainders, of equal ones the first. Integer arithmetic throughout. Null if the sum is 0.
create or replace function shares_of(quantities numeric[]) returns int[] language sql immutable parallel safe as $$
  select array_agg((millionths + (place <= left_over)::int)::int order by n)
  from (
    select n, millionths, 1000000 - sum(millionths) over () as left_over, row_number() over (order by cut_off desc, n) as place
    from (
      select n, div(q * 1000000, total) as millionths, mod(q * 1000000, total) as cut_off
      from unnest(quantities) with ordinality list(q, n)
      cross join (select nullif(sum(q), 0) as total from unnest(quantities) q) whole
    ) divided
  ) ranked
$$;

comment on function shares_of(numeric[]) is
  'Share of each quantity in their sum, in millionths that sum to a million exactly, by largest remainder; of equal ones the first.';
