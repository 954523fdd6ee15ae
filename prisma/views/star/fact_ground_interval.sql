-- Fact: one row per stretch of driven length with one note, decision and governing class.
create or replace view fact_ground_interval as
select
  d.id as drive_id,
  g.n as number,
  d.project_id,
  p.code as project_code,
  d.code as drive_code,
  chainage_of_driven(d.start_chainage_m, d.direction, g.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, least(g.to_m, f.face_m)) as to_chainage_m,
  g.from_m,
  least(g.to_m, f.face_m) as to_m,
  least(g.to_m, f.face_m) - g.from_m as length_m,
  (select c.id from ground_class c where c.project_id = d.project_id and c.code = g.noted_class_code) as noted_class_id,
  (select c.id from ground_class c where c.project_id = d.project_id and c.code = g.governing_class_code) as governing_class_id,
  g.basis,
  g.lithology
from drive d
join project p on p.id = d.project_id
cross join lateral (select max(b.to_m) as face_m from boring b where b.drive_id = d.id) f
cross join lateral ground_cell_of(d.id) g
where g.from_m < f.face_m;

comment on view fact_ground_interval is
  'Fact: one row per stretch of the driven length of one note and one governing class; the lengths add up to what is driven.';
comment on column fact_ground_interval.number is 'Number of the stretch along the drive.';
comment on column fact_ground_interval.noted_class_id is 'Ground class noted by the shift; null: none noted.';
comment on column fact_ground_interval.governing_class_id is 'Ground class that counts for payment: agreed, else as noted; null: none.';
comment on column fact_ground_interval.basis is 'agreed: of the class decision; noted: no agreed decision, as noted by the shift; null: no class governs.';
comment on column fact_ground_interval.lithology is 'Lithology noted; null: none.';
