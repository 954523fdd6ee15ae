-- Position of the face at an instant within a boring: even progress from from_m to to_m, rounded to the millimetre,
-- so that the parts of a boring divided at any instants sum to its length exactly.
create or replace function bored_until(from_m numeric, to_m numeric, started_at timestamptz, ended_at timestamptz, instant timestamptz)
returns numeric language sql immutable parallel safe as $$
  select case
    when instant <= started_at then from_m
    when instant >= ended_at then to_m
    else round(from_m + (to_m - from_m) * extract(epoch from instant - started_at) / extract(epoch from ended_at - started_at), 3)
  end
$$;

comment on function bored_until(numeric, numeric, timestamptz, timestamptz, timestamptz) is
  'Driven metres [m] at an instant inside a boring, by even progress, to the millimetre.';
