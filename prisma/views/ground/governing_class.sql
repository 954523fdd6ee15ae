-- One row per drive and interval of one governing class, as governing_class_of gives it.
create or replace view governing_class as
select
  p.code as project_code,
  d.code as drive_code,
  chainage_of_driven(d.start_chainage_m, d.direction, r.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.to_m) as to_chainage_m,
  r.from_m,
  r.to_m,
  r.to_m - r.from_m as length_m,
  r.ground_class_code,
  r.basis,
  r.ground_class_id,
  d.id as drive_id,
  r.is_countersigned,
  r.contested_number,
  r.contested_state,
  r.contested_class_code
from drive d
join project p on p.id = d.project_id
cross join lateral governing_class_of(d.id) r;

comment on view governing_class is
  'The governing class along each drive: of the agreed class decision, else as noted. Places with neither class nor decision are left out. [m]';
comment on column governing_class.ground_class_code is 'Null: there is only a decision that is not agreed, and no class governs.';
comment on column governing_class.basis is 'agreed: of the class decision; noted: no agreed decision, as noted by the shift; null: no class governs.';
comment on column governing_class.is_countersigned is
  'Whether the shift that noted it is countersigned: until then what is paid by class is held. Null where basis is not noted.';
comment on column governing_class.contested_number is 'Number of the class decision here that is not agreed; null: none.';
comment on column governing_class.contested_state is 'proposed or disputed: state of that decision.';
comment on column governing_class.contested_class_code is 'Class of that decision: where it differs from the governing one, what it would change is held.';
