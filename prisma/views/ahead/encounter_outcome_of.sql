-- One row an investigation and a thing met after it that it indicated, or in whose range it starts. matched: by an indication; covered: in
-- one that another thing met is matched with; missed: in none, once the face has passed it by the drive's tolerance, or the end of the
-- drive; open: in none, before.
create or replace function encounter_outcome_of(drive_id int)
returns table (
  investigation_id int, investigation text, method investigation_method, method_name text, encounter_name text, is_from_hole boolean, kind indication_kind,
  source encounter_source, from_m numeric, to_m numeric, met_at timestamptz, outcome text, key text)
language sql stable begin atomic
  with matched as materialized (select * from indication_match_of(encounter_outcome_of.drive_id)),
  covered as materialized (
    select distinct p.investigation_id, p.is_from_hole, p.encounter_name from indication_pair_of(encounter_outcome_of.drive_id) p
  )
  select v.id, v.name, v.method, v.method_name, e.name, e.is_from_hole, e.kind, e.source, e.from_m, e.to_m, e.met_at,
    case when m.indication_id is not null then 'matched' when c.investigation_id is not null then 'covered'
      when f.face_m < least(e.to_m + d.indication_tolerance_m, f.length_m) then 'open' else 'missed' end,
    i.key
  from drive_progress f
  join drive d on d.id = f.drive_id
  join investigation v on v.drive_id = f.drive_id and v.made_at <= (select moment_asked())
  join encounter_met e on e.drive_id = f.drive_id and e.met_at > v.made_at and not (e.is_from_hole and e.name = coalesce(v.probe_hole, ''))
  left join matched m on m.investigation_id = v.id and m.is_from_hole = e.is_from_hole and m.encounter_name = e.name
  left join indication i on i.id = m.indication_id
  left join covered c on c.investigation_id = v.id and c.is_from_hole = e.is_from_hole and c.encounter_name = e.name
  where f.drive_id = encounter_outcome_of.drive_id and (c.investigation_id is not null or e.from_m between v.from_m and v.to_m);
end;

comment on function encounter_outcome_of(int) is
  'What was met in a drive against each investigation that indicated it or looked there: matched, covered, missed or open. Positions in driven metres. [m]';
