-- One row per indication of a drive and encounter of the same kind, met after the investigation and not by its own hole, and lying in the
-- indicated stretch widened by its uncertainty and the drive's tolerance. Both ends are closed. preference: rank of the pair among all of
-- the drive, by largest overlap, then nearest starts, then keys. Both are laid out in cells of 50 m and compared within the first cell that
-- they share, so that the work grows with the drive and not with its square.
create or replace function indication_pair_of(drive_id int)
returns table (
  preference int, investigation_id int, indication_id int, is_from_hole boolean, encounter_name text, overlap_m numeric, kind indication_kind,
    met_from_m numeric)
language sql stable begin atomic
  with indicated as materialized (
    select v.id as investigation_id, v.name, v.made_at, coalesce(v.probe_hole, '') as probe_hole, i.id, i.key, i.kind, i.from_m,
      i.from_m - i.from_uncertainty_m - coalesce(d.indication_tolerance_m, 0) as low_m,
        i.to_m + i.to_uncertainty_m + coalesce(d.indication_tolerance_m, 0) as high_m
    from drive d
    join investigation v on v.drive_id = d.id and v.made_at <= (select moment_asked())
    join indication i on i.investigation_id = v.id
    where d.id = indication_pair_of.drive_id
  ), met as materialized (
    select e.* from encounter_met e where e.drive_id = indication_pair_of.drive_id
  ), indicated_cell as materialized (
    select i.*, cell from indicated i cross join lateral generate_series(floor(i.low_m / 50)::int, floor(i.high_m / 50)::int) cell
  ), met_cell as materialized (
    select e.*, cell from met e cross join lateral generate_series(floor(e.from_m / 50)::int, floor(e.to_m / 50)::int) cell
  )
  select row_number() over (
      order by o.overlap_m desc, abs(e.from_m - i.from_m), i.name collate "C", i.key collate "C", e.is_from_hole, e.name collate "C", e.from_m)::int,
    i.investigation_id, i.id, e.is_from_hole, e.name, o.overlap_m, e.kind, e.from_m
  from indicated_cell i
  join met_cell e on e.kind = i.kind and e.cell = i.cell
  cross join lateral (select metres_within(e.from_m, e.to_m, i.low_m, i.high_m) as overlap_m) o
  where i.cell = floor(greatest(e.from_m, i.low_m) / 50)::int and o.overlap_m >= 0 and e.met_at > i.made_at and not (e.is_from_hole and e.name = i.probe_hole);
end;

comment on function indication_pair_of(int) is
  'Indications of a drive and what was met in them: same kind, met later, overlapping the stretch widened by uncertainty and tolerance. overlap_m: length of '
  'the overlap, 0 at a point [m]; met_from_m: where what was met starts, driven metres [m]; preference: order in which pairs are matched.';
