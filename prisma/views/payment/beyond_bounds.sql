-- What the bounds add to or deduct from a quantity.
create or replace function beyond_bounds(quantity numeric, least_quantity numeric, most_quantity numeric) returns numeric
  language sql immutable parallel safe as $$
  select round(greatest(least(quantity, most_quantity), least_quantity) - quantity, 9)
$$;

comment on function beyond_bounds(numeric, numeric, numeric) is 'What the bounds add to a quantity or take off it; a null most bounds nothing.';
