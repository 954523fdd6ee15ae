-- One row a drive and interval of one ruling class, as ruling_class_of gives it.
create or replace view ruling_class as
select
  p.code as project_code,
  d.code as drive_code,
  d.start_chainage_m + d.direction * r.from_m as from_chainage_m,
  d.start_chainage_m + d.direction * r.to_m as to_chainage_m,
  r.from_m,
  r.to_m,
  r.to_m - r.from_m as length_m,
  r.ground_class_code,
  r.basis,
  r.ground_class_id,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ruling_class_of(d.id) r;

comment on view ruling_class is 'The ruling class along each drive: of the class decision, else as noted. Places without a class are left out. [m]';
comment on column ruling_class.basis is 'agreed, disputed or proposed: state of the class decision; noted: no decision, as noted by the shift.';
