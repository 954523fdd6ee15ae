-- One row an indication of a drive and a thing that was met: of the same kind, met after the investigation and not by the hole that
-- it is, and lying in the indicated stretch widened by its uncertainty and the drive's tolerance. Both ends are closed. preference:
-- place of the pair among all of the drive, by the greatest overlap, then the nearest starts, then the keys.
create or replace function indication_pair_of(drive_id int)
returns table (preference int, investigation_id int, indication_id int, is_from_hole boolean, encounter_name text, overlap_m numeric)
language sql stable begin atomic
  select row_number() over (order by o.overlap_m desc, abs(e.from_m - i.from_m), v.name collate "C", i.key collate "C", e.is_from_hole, e.name collate "C")::int,
    v.id, i.id, e.is_from_hole, e.name, o.overlap_m
  from drive d
  join investigation v on v.drive_id = d.id and v.made_at <= (select moment_asked())
  join indication i on i.investigation_id = v.id
  join encounter_met e on e.drive_id = d.id and e.kind = i.kind and e.met_at > v.made_at and not (e.is_from_hole and e.name = coalesce(v.probe_hole, ''))
  cross join lateral (
    select least(e.to_m, i.to_m + i.to_uncertainty_m + coalesce(d.indication_tolerance_m, 0))
      - greatest(e.from_m, i.from_m - i.from_uncertainty_m - coalesce(d.indication_tolerance_m, 0)) as overlap_m
  ) o
  where d.id = indication_pair_of.drive_id and o.overlap_m >= 0;
end;

comment on function indication_pair_of(int) is
  'Indications of a drive and what was met in them: same kind, met later, overlapping the stretch widened by uncertainty and tolerance. overlap_m: length of the overlap, 0 at a point [m]; preference: order in which pairs are matched.';
