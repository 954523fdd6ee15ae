-- Fact: one row per activity and production day in which it falls, as in the time ledger, with keys instead of names. The ledger is computed once per
-- drive, and everything else is looked up for each part by key (offset 0), whatever the statistics.
create or replace view fact_activity_part as
select
  e.activity_id,
  e.production_day,
  d.id as drive_id,
  e.shift_id,
  d.project_id,
  e.project_code,
  e.drive_code,
  a.activity_code_id,
  a.equipment_id,
  (select g.id from ground_class g where g.project_id = d.project_id and g.code = e.ground_class_code) as ground_class_id,
  e.responsible_party,
  e.started_at,
  e.ended_at,
  e.seconds,
  e.hours,
  e.lost,
  e.chainage_m,
  e.face_m,
  e.remark,
  c.change_number,
  c.changed_at
from drive d
cross join lateral (select * from ledger_entry where drive_id = d.id offset 0) e
cross join lateral (select activity_code_id, equipment_id from activity where id = e.activity_id offset 0) a
left join lateral (select * from shift_changed where shift_id = e.shift_id offset 0) c on true;

comment on view fact_activity_part is
  'Fact: one row per activity and production day that it falls in, as in ledger_entry. Seconds add up exactly. Place and ground class follow the borings and '
  'notes of other shifts too: read them again when any shift of the drive has changed.';
comment on column fact_activity_part.ground_class_id is 'Ground class noted at the face when the activity began, else the one that ends there; null: none.';
comment on column fact_activity_part.lost is 'Non-boring time that the programme does not plan: of a code that is not planned.';
comment on column fact_activity_part.seconds is 'Length of the part, exact to the millisecond. [s]';
comment on column fact_activity_part.hours is 'seconds / 3600, a quotient: for exact sums add the seconds. [h]';
comment on column fact_activity_part.chainage_m is 'Chainage of the face when the activity began. [m]';
comment on column fact_activity_part.face_m is 'Driven metres of the face when the activity began. [m]';
comment on column fact_activity_part.change_number is 'Last change of its shift.';
