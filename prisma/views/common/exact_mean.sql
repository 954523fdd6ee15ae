-- Weighted mean of readings from exact sums: for equal readings that reading with every digit, otherwise the quotient, converted to a float once.
-- PostgreSQL divides to 16 digits, one less than a float has, so the sum is first given 20 decimals, and the quotient then has as many.
create or replace function mean(lowest float8, highest float8, weighted_sum numeric, weight numeric)
returns float8 language sql immutable parallel safe as $$
  select case when lowest = highest then lowest else ((weighted_sum + 0e-20) / weight)::float8 end
$$;

comment on function mean(float8, float8, numeric, numeric) is 'Weighted mean from exact sums, which does not depend on the order of the rows.';
