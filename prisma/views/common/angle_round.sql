-- Clockwise angle round the ring from one angle to another: 0 to less than 360, so 0 for a whole turn too.
create or replace function angle_round(from_deg numeric, to_deg numeric) returns numeric language sql immutable parallel safe as $$
  select mod(to_deg - from_deg + 360, 360)
$$;

comment on function angle_round(numeric, numeric) is 'Angle round the ring from one angle to another, less than 360. [deg]';
