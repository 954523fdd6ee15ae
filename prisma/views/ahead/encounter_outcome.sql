-- One row per investigation and encounter that it indicated or in whose range it lies: encounter_outcome_of for every drive.
create or replace view encounter_outcome as
select
  p.code as project_code,
  d.code as drive_code,
  o.investigation,
  o.method::text as method,
  o.method_name,
  o.encounter_name,
  o.is_from_hole,
  o.kind::text as kind,
  o.source::text as source,
  chainage_of_driven(d.start_chainage_m, d.direction, o.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, o.to_m) as to_chainage_m,
  o.from_m,
  o.to_m,
  o.met_at,
  o.outcome,
  o.key,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral encounter_outcome_of(d.id) o;

comment on view encounter_outcome is 'One row per investigation and a thing that was met: matched, covered, missed or open.';
comment on column encounter_outcome.is_from_hole is 'Whether it is water or a void met in a probe hole, encounter_name being that of the hole.';
comment on column encounter_outcome.key is 'Key of the indication that it is matched with.';
