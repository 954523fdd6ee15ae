-- The time from one moment to another.
create or replace function hours_between(from_at timestamptz, to_at timestamptz) returns numeric language sql immutable parallel safe as $$
  select extract(epoch from to_at - from_at) / 3600
$$;

comment on function hours_between(timestamptz, timestamptz) is 'Time from one moment to another. [h]';
