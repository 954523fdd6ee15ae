-- The part of a length that lies within another, which it must overlap.
create or replace function metres_within(from_m numeric, to_m numeric, within_from_m numeric, within_to_m numeric)
returns numeric language sql immutable parallel safe as $$
  select least(to_m, within_to_m) - greatest(from_m, within_from_m)
$$;

comment on function metres_within(numeric, numeric, numeric, numeric) is
  'How much of a length lies within another; below 0 where they do not meet, by the distance between them. [m]';
