-- One row per indication of a drive by the moment asked for. Open until the face has passed the end of the stretch with its uncertainty
-- and the drive's tolerance, or reached the end of the drive; then a hit if it is matched, otherwise a false alarm.
create or replace function indication_outcome_of(drive_id int)
returns table (
  investigation_id int, investigation text, method investigation_method, method_name text, key text, kind indication_kind, from_m numeric, to_m numeric,
  from_uncertainty_m numeric, to_uncertainty_m numeric, remark text, face_m numeric, made_at timestamptz, made_by text, judged_from_m numeric,
  outcome text, encounter_name text, is_from_hole boolean, met_from_m numeric, met_to_m numeric, met_at timestamptz, overlap_m numeric,
  position_error_m numeric, lead_m numeric, lead_days numeric)
language sql stable begin atomic
  with place as materialized (
    select d.id, coalesce((select max(b.to_m) from boring b where b.drive_id = d.id), 0.000) as face_m,
      drive_length(d.start_chainage_m, d.end_chainage_m) as length_m,
      coalesce(d.indication_tolerance_m, 0) as tolerance_m
    from drive d where d.id = indication_outcome_of.drive_id
  ), matched as materialized (
    select m.* from indication_match_of(indication_outcome_of.drive_id) m
  ), met as materialized (
    select e.* from encounter_met e where e.drive_id = indication_outcome_of.drive_id
  )
  select v.id, v.name, v.method, v.method_name, i.key, i.kind, i.from_m, i.to_m, i.from_uncertainty_m, i.to_uncertainty_m, i.remark, v.face_m, v.made_at,
    v.made_by, judged.from_m,
    case when f.face_m < judged.from_m then 'open' when m.indication_id is null then 'false_alarm' else 'hit' end,
    m.encounter_name, m.is_from_hole, e.from_m, e.to_m, e.met_at, m.overlap_m, e.from_m - i.from_m, e.face_m - v.face_m,
    round(extract(epoch from e.met_at - v.made_at) / 86400, 2)
  from place f
  join investigation v on v.drive_id = f.id and v.made_at <= (select moment_asked())
  join indication i on i.investigation_id = v.id
  cross join lateral (select least(i.to_m + i.to_uncertainty_m + f.tolerance_m, f.length_m) as from_m) judged
  left join matched m on m.indication_id = i.id
  left join met e on e.is_from_hole = m.is_from_hole and e.name = m.encounter_name and e.kind = m.kind and e.from_m = m.met_from_m;
end;

comment on function indication_outcome_of(int) is
  'Indications of a drive with their outcome: open, hit or false_alarm, and what they are matched with. judged_from_m: face position from which the outcome is '
  'decided [m]; position_error_m: start met less start indicated, positive further along the drive [m]; lead_m, lead_days: from the investigation until it was '
  'met [m of face position, d].';
