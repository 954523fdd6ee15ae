-- The part of a time span that lies within another, which it must overlap.
create or replace function seconds_within(started_at timestamptz, ended_at timestamptz, span_starts_at timestamptz, span_ends_at timestamptz)
returns numeric language sql immutable parallel safe as $$
  select extract(epoch from least(ended_at, span_ends_at) - greatest(started_at, span_starts_at))
$$;

comment on function seconds_within(timestamptz, timestamptz, timestamptz, timestamptz) is
  'How much of a span of time lies within another; below 0 where they do not meet, by the time between them. [s]';
