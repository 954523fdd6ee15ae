-- A volume or flow in place after it is broken: it increases by the swell of the ground.
create or replace function bulked(in_place anycompatible, swell_percent anycompatible) returns anycompatible language sql immutable parallel safe as $$
  select in_place * (1 + swell_percent / 100)
$$;

comment on function bulked(anycompatible, anycompatible) is 'Loose volume [m3] or flow [m3/h] of one in place, by the swell of the ground [%].';
