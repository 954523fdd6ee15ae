-- The time ledger: one row per activity and production day in which it falls. The place is the position of the face when the
-- activity began, for all its parts, so that splitting by days never moves time from one ground class to another.
-- Activities are merged with the borings by time, then with the ground notes by metres, and take the last one before them:
-- one pass over the drive, whatever the indexes, and none if the place is not requested. Times and metres of borings
-- rise together, so the running maxima all belong to the last boring begun; the last note is the highest by its first element.
create or replace view ledger_entry as
with begun as (
  select p.drive_id, p.activity_id, p.activity_started_at as at, p as part,
    null::numeric as from_m, null::numeric as to_m, null::timestamptz as started_at, null::timestamptz as ended_at
  from booked_part p
  union all
  select drive_id, null, started_at, null, from_m, to_m, started_at, ended_at from boring where started_at is not null
), faced as ( -- as in face_at: before the first timed boring, the start of the drive
  select drive_id, activity_id, part, coalesce(
      bored_until(max(from_m) over past, max(to_m) over past, max(started_at) over past, max(ended_at) over past, at), 0.000) as face_m
  from begun
  window past as (partition by drive_id order by at, activity_id nulls first)
), along as (
  select drive_id, activity_id, part, face_m, null::numeric[] as note from faced where activity_id is not null
  union all
  select drive_id, null, null, from_m, array[from_m, to_m, ground_class_id] from ground_interval
), noted as (
  select drive_id, activity_id, part, face_m, max(note) over (partition by drive_id order by face_m, activity_id nulls first) as note from along
)
select
  (n.part).project_code,
  (n.part).drive_code,
  (n.part).shift_date,
  (n.part).shift_name,
  (n.part).state,
  (n.part).production_day,
  to_char((n.part).production_day, 'IYYY-"W"IW') as iso_week,
  to_char((n.part).production_day, 'YYYY-MM') as month,
  (n.part).started_at,
  (n.part).ended_at,
  (n.part).code,
  (n.part).description,
  (n.part).counts_as,
  (n.part).non_boring and not (n.part).planned as lost,
  (n.part).responsible_party,
  (n.part).equipment_code,
  (n.part).seconds,
  (n.part).seconds / 3600 as hours,
  (select chainage_of_driven(d.start_chainage_m, d.direction, n.face_m) from drive d where d.id = n.drive_id) as chainage_m,
  n.face_m,
  (select c.code from ground_class c where n.note[2] >= n.face_m and c.id = n.note[3]::int) as ground_class_code,
  (n.part).remark,
  n.drive_id,
  (n.part).shift_id,
  n.activity_id,
  (n.part).non_boring
from noted n
where n.activity_id is not null;

comment on view ledger_entry is
  'The time ledger: one row per activity and production day that it falls in, with code, cause, party, equipment and place. Seconds sum exactly.';
comment on column ledger_entry.iso_week is 'ISO week of the production day, such as 2027-W09.';
comment on column ledger_entry.month is 'Month of the production day, such as 2027-03.';
comment on column ledger_entry.counts_as is 'Time class of the code.';
comment on column ledger_entry.non_boring is
  'True unless the time counts as boring, regripping or outside working time: planned maintenance and regular support are among it.';
comment on column ledger_entry.lost is 'Non-boring time that the programme does not plan: of a code that is not planned.';
comment on column ledger_entry.seconds is 'Length of the part, exact to the millisecond. [s]';
comment on column ledger_entry.hours is 'seconds / 3600, a quotient: for exact sums add the seconds. [h]';
comment on column ledger_entry.chainage_m is
  'Chainage of the face when the activity began, as face_at says; of the drive''s start before the first timed boring. [m]';
comment on column ledger_entry.face_m is 'Driven metres of the face when the activity began. [m]';
comment on column ledger_entry.ground_class_code is 'Ground class noted at the face when the activity began, else the one that ends there; null: none.';
