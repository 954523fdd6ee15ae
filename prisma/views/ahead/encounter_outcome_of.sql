-- One row per investigation and later encounter that it indicated, or that starts in its range. matched: by an indication; covered: within
-- an indication that is matched with another encounter; missed: in no indication, once the face has passed it by the drive's tolerance or
-- reached the end of the drive; open: in no indication, before that.
create or replace function encounter_outcome_of(drive_id int)
returns table (
  investigation_id int, investigation text, method investigation_method, method_name text, encounter_name text, is_from_hole boolean, kind indication_kind,
  source encounter_source, from_m numeric, to_m numeric, met_at timestamptz, outcome text, key text)
language sql stable begin atomic
  with face as materialized ( -- each part once, and joined by grouping, because there are many pairs of investigations and encounters
    select coalesce((select max(b.to_m) from boring b where b.drive_id = d.id), 0.000) as face_m,
      drive_length(d.start_chainage_m, d.end_chainage_m) as length_m,
      coalesce(d.indication_tolerance_m, 0) as tolerance_m
    from drive d where d.id = encounter_outcome_of.drive_id
  ), looked as materialized (
    select v.* from investigation v where v.drive_id = encounter_outcome_of.drive_id and v.made_at <= (select moment_asked())
  ), met as materialized (
    select e.*, floor(e.from_m / 50)::int as cell from encounter_met e where e.drive_id = encounter_outcome_of.drive_id
  ), looked_cell as materialized ( -- by cells of 50 m: an encounter starts in one of them
    select v.id, v.from_m, v.to_m, v.made_at, coalesce(v.probe_hole, '') as probe_hole, cell
    from looked v cross join lateral generate_series(floor(v.from_m / 50)::int, floor(v.to_m / 50)::int) cell
  ), candidate as (
    select v.id as investigation_id, e.is_from_hole, e.name, e.kind, e.from_m, false as is_indicated, null::text as key
    from looked_cell v
    join met e on e.cell = v.cell and e.from_m between v.from_m and v.to_m and e.met_at > v.made_at and not (e.is_from_hole and e.name = v.probe_hole)
    union all
    select p.investigation_id, p.is_from_hole, p.encounter_name, p.kind, p.met_from_m, true, null from indication_pair_of(encounter_outcome_of.drive_id) p
    union all
    select m.investigation_id, m.is_from_hole, m.encounter_name, m.kind, m.met_from_m, true, i.key
    from indication_match_of(encounter_outcome_of.drive_id) m cross join lateral (select key from indication where id = m.indication_id offset 0) i
  ), found as materialized (
    select c.investigation_id, c.is_from_hole, c.name, c.kind, c.from_m, bool_or(c.is_indicated) as is_indicated, max(c.key) as key
    from candidate c group by c.investigation_id, c.is_from_hole, c.name, c.kind, c.from_m
  )
  select v.id, v.name, v.method, v.method_name, e.name, e.is_from_hole, e.kind, e.source, e.from_m, e.to_m, e.met_at,
    case when found.key is not null then 'matched' when found.is_indicated then 'covered'
      when face.face_m < least(e.to_m + face.tolerance_m, face.length_m) then 'open' else 'missed' end,
    found.key
  from found
  join looked v on v.id = found.investigation_id
  join met e on e.is_from_hole = found.is_from_hole and e.name = found.name and e.kind = found.kind and e.from_m = found.from_m
  cross join face;
end;

comment on function encounter_outcome_of(int) is
  'What was met in a drive against each investigation that indicated it or looked there: matched, covered, missed or open. Positions in driven metres. [m]';
