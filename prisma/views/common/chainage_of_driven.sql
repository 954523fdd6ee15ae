-- The chainage of a place given in driven metres: the only place of this formula. PostgreSQL inlines its expression into the calling query.
create or replace function chainage_of_driven(start_chainage_m numeric, direction smallint, driven_m numeric)
returns numeric language sql immutable parallel safe as $$
  select start_chainage_m + direction * driven_m
$$;

comment on function chainage_of_driven(numeric, smallint, numeric) is
  'Chainage of a place [driven m] of a drive that starts at a chainage [m] with direction 1 or -1. [m]';
