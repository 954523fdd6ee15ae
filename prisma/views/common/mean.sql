-- Weighted mean from its sums. The mean of equal values is that value, without the noise of multiplying and dividing.
create or replace function mean(lowest float8, highest float8, weighted_sum float8, weight float8)
returns float8 language sql immutable parallel safe as $$
  select case when lowest = highest then lowest else weighted_sum / weight end
$$;

comment on function mean(float8, float8, float8, float8) is 'Weighted mean from its sums; exact where all values are equal.';
