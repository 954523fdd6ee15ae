-- Quantities that sum to their rounded total, by largest remainder: each is rounded down to a step, and the remaining steps are given one each to
-- the largest remainders, of equal ones (to a millionth of a step) the first. So each is less than a step away from its original value.
create or replace function rounded_to_sum(quantities numeric[]) returns numeric[] language sql immutable parallel safe as $$
  select array_agg(floor(q) + case when rank <= whole - floors then 1 else 0 end order by n)
  from (
    select q, n, row_number() over (order by round(q - floor(q), 6) desc, n) as rank, round(sum(q) over ()) as whole, sum(floor(q)) over () as floors
    from unnest(quantities) with ordinality list(q, n)
  ) ranked
$$;

comment on function rounded_to_sum(numeric[]) is 'Quantities, in steps, rounded to whole steps that sum to their rounded sum, by largest remainder.';
