-- Clockwise width of an arc from one angle of the ring to another: 0 if they are equal, null if one is unknown.
create or replace function arc_width(from_deg numeric, to_deg numeric) returns numeric language sql immutable parallel safe as $$
  select to_deg - from_deg + case when to_deg < from_deg then 360 else 0 end
$$;

comment on function arc_width(numeric, numeric) is 'Width of an arc of the ring from one angle round to another; 0 where they are equal. [deg]';
