-- One row per indication, with its outcome and what it is matched with: indication_outcome_of for every drive.
create or replace view indication_outcome as
select
  p.code as project_code,
  d.code as drive_code,
  o.investigation,
  o.method::text as method,
  o.method_name,
  o.key,
  o.kind::text as kind,
  chainage_of_driven(d.start_chainage_m, d.direction, o.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, o.to_m) as to_chainage_m,
  o.from_m,
  o.to_m,
  o.from_uncertainty_m,
  o.to_uncertainty_m,
  o.remark,
  chainage_of_driven(d.start_chainage_m, d.direction, o.face_m) as face_chainage_m,
  o.made_at,
  o.made_by,
  chainage_of_driven(d.start_chainage_m, d.direction, o.judged_from_m) as judged_from_chainage_m,
  o.outcome,
  o.encounter_name,
  o.is_from_hole,
  chainage_of_driven(d.start_chainage_m, d.direction, o.met_from_m) as met_from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, o.met_to_m) as met_to_chainage_m,
  o.met_at,
  o.overlap_m,
  o.position_error_m,
  o.lead_m,
  o.lead_days,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral indication_outcome_of(d.id) o;

comment on view indication_outcome is 'One row per indication: open, hit or false_alarm, and what it is matched with. Decision support.';
comment on column indication_outcome.from_uncertainty_m is 'Uncertainty of its start, to either side. [m]';
comment on column indication_outcome.to_uncertainty_m is 'Uncertainty of its end, to either side. [m]';
comment on column indication_outcome.judged_from_chainage_m is 'Chainage of the face from which the outcome is decided. [m]';
comment on column indication_outcome.is_from_hole is 'Whether it is matched with water or a void met in a probe hole, encounter_name being that of the hole.';
comment on column indication_outcome.overlap_m is 'Length of the widened stretch in which it was met; 0 at a point. [m]';
comment on column indication_outcome.position_error_m is 'Start met less start indicated, positive further along the drive. [m]';
comment on column indication_outcome.lead_m is 'Advance of the face from the investigation until it was met. [m]';
comment on column indication_outcome.lead_days is 'Time from the investigation until it was met. [d]';
