-- The ground log that counts at each place of a drive, separately for Q and RMR, over the part [low_m, high_m) and as far as
-- logs extend that touch it. Pieces lie between the ends of all logs; those that no log covers are left out. If several logs
-- rate a place, the one agreed as governing counts; without one, that with the lowest rating, and among equals the first by
-- name. basis: decided, only (one log rates it), agreeing (all that rate it are of one class), undecided; null if none rates it.
create or replace function ground_log_used_of(drive_id int, low_m numeric, high_m numeric)
returns table (from_m numeric, to_m numeric, rating text, name text, value float8, class text, basis text, log_count int)
language sql stable begin atomic
  with log as materialized (
    select l.name, l.from_m, l.to_m, l.q, l.q_class, l.rmr, l.rmr_class, coalesce(l.ruling_state = 'agreed', false) as rules
    from ground_log_sheet l
    where l.drive_id = ground_log_used_of.drive_id and l.from_m < ground_log_used_of.high_m and l.to_m > ground_log_used_of.low_m
  ), bound as materialized (
    select row_number() over (order by m)::int as n, m as from_m, lead(m) over (order by m) as to_m
    from (select log.from_m as m from log union select log.to_m from log) ends
  ), bounds as ( -- integer millimetres, so that the array has elements of fixed width and allows binary search
    select array_agg((bound.from_m * 1000)::bigint order by bound.n) as at_mm from bound
  ), rated as (
    select n, r.rating, log.name, r.value, r.class, log.rules
    from bounds
    cross join log
    cross join lateral generate_series(
      width_bucket((log.from_m * 1000)::bigint, bounds.at_mm), width_bucket((log.to_m * 1000)::bigint, bounds.at_mm) - 1) n
    cross join lateral (values ('q', log.q_class, log.q), ('rmr', log.rmr_class, log.rmr::float8)) r (rating, class, value)
  ), used as (
    select distinct on (n, rating) n, rating, name, value, class, rules, count(*) over place as log_count,
      count(class) over place as rated_count, min(class) over place = max(class) over place as is_one_class
    from rated
    window place as (partition by n, rating)
    order by n, rating, class is null, rules desc, value, name
  )
  select bound.from_m, bound.to_m, used.rating, used.name, used.value, used.class,
    case when used.class is null then null when used.rules then 'decided' when used.rated_count = 1 then 'only'
      when used.is_one_class then 'agreeing' else 'undecided' end,
    used.log_count::int
  from used
  join bound on bound.n = used.n;
end;

comment on function ground_log_used_of(int, numeric, numeric) is
  'The ground log that counts at each place of a drive for Q and for RMR, in pieces of driven metres [m] over the given part: that agreed as governing, else '
  'that of the lowest rating. basis: decided, only, agreeing or undecided; null where no log rates the place.';
