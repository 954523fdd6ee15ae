-- The driven metres of a place given by its chainage: the inverse of chainage_of_driven.
create or replace function driven_of_chainage(start_chainage_m numeric, direction smallint, chainage_m numeric)
returns numeric language sql immutable parallel safe as $$
  select direction * (chainage_m - start_chainage_m)
$$;

comment on function driven_of_chainage(numeric, smallint, numeric) is
  'Place [driven m] of a chainage [m] in a drive that starts at a chainage [m] with direction 1 or -1. [m]';
