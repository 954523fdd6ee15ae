-- Metres of a drive, from its start to its face, by class of Q and by class of RMR. For either rating the rows of an
-- interval sum to its length exactly: metres without a log count as not logged, those of a log without that rating as not
-- rated. Where several logs cover a place, the one of ground_log_used_of counts. interval_m null: the whole length is one interval; otherwise
-- intervals lie on round chainages and are half open along the drive, and the last one ends at the face.
create or replace function rock_mass_of(drive int, interval_m numeric)
returns table (
  from_m numeric, to_m numeric, rating text, class text, coverage text, length_m numeric, share numeric, log_count int, lowest float8, highest float8,
  decided_m numeric, undecided_m numeric)
language sql stable begin atomic
  with place as (
    select d.id, d.direction * d.start_chainage_m as origin_m, b.face_m
    from drive d
    cross join lateral (select max(to_m) as face_m from boring where drive_id = rock_mass_of.drive) b
    where d.id = rock_mass_of.drive and b.face_m > 0
  ), cell as (
    select n, case when interval_m is null then 0 else interval_from(n, interval_m, origin_m) end as from_m,
      case when interval_m is null then face_m else interval_to(n, interval_m, origin_m, face_m) end as to_m
    from place
    cross join lateral generate_series(
      case when interval_m is null then 0 else interval_holding(origin_m, interval_m) end,
      case when interval_m is null then 0 else interval_ending(origin_m + face_m, interval_m) end) n
  ), logged as (
    select n, u.name, u.from_m, u.to_m, u.rating, u.value, u.class, u.basis
    from place
    cross join lateral ground_log_used_of(place.id, 0, place.face_m) u
    cross join lateral generate_series(
      case when interval_m is null then 0 else interval_holding(origin_m + u.from_m, interval_m) end,
      case when interval_m is null then 0 else interval_ending(origin_m + least(u.to_m, place.face_m), interval_m) end) n
    where u.from_m < place.face_m
  ), piece as (
    select logged.n, logged.rating, logged.class, case when logged.class is null then 'not_rated' else 'rated' end as coverage,
      metres_within(logged.from_m, logged.to_m, cell.from_m, cell.to_m) as length_m, logged.name, logged.value, logged.basis
    from logged
    join cell on cell.n = logged.n
  ), summed as (
    select n, rating, class, coverage, sum(length_m) as length_m, count(distinct name)::int as log_count, min(value) as lowest, max(value) as highest,
      coalesce(sum(length_m) filter (where basis = 'decided'), 0.000) as decided_m,
        coalesce(sum(length_m) filter (where basis = 'undecided'), 0.000) as undecided_m
    from piece group by n, rating, class, coverage
    union all
    select cell.n, r.rating, null, 'not_logged', cell.to_m - cell.from_m - coalesce(sum(piece.length_m), 0), 0, null, null, 0.000, 0.000
    from cell
    cross join (values ('q'), ('rmr')) r (rating)
    left join piece on piece.n = cell.n and piece.rating = r.rating
    group by cell.n, cell.from_m, cell.to_m, r.rating
  )
  select cell.from_m, cell.to_m, s.rating, s.class, s.coverage, s.length_m, s.length_m / (cell.to_m - cell.from_m), s.log_count, s.lowest, s.highest,
    s.decided_m, s.undecided_m
  from summed s
  join cell on cell.n = s.n
  where s.length_m > 0;
end;

comment on function rock_mass_of(int, numeric) is
  'Metres from the start of a drive to its face by class of Q and of RMR, in intervals of the given length [m] or, for null, as one; with what is not rated '
  'and not logged they sum to each interval exactly.';
