-- The data of a drive's machine in force at its face: on the date of its last shift or, if later, of the boring furthest ahead; those from the beginning
-- if there is neither. No row for a drive without a machine.
create or replace function machine_at_face(drive int) returns setof machine_data language sql stable begin atomic
  select m.*
  from drive d
  join project p on p.id = d.project_id
  join machine_data m on m.machine_id = d.machine_id
  cross join lateral (
    select greatest((select max(s.shift_date) from shift s where s.drive_id = d.id), (
      select bored_on(null, b.started_at, p.time_zone, p.day_start) from boring b where b.drive_id = d.id order by b.from_m desc limit 1
    ), '-infinity') as day
  ) last
  where d.id = machine_at_face.drive and last.day >= m.valid_from and last.day < m.valid_to;
end;

comment on function machine_at_face(int) is
  'The data of a drive''s machine in force on the date of its last shift or of the boring furthest ahead; those from the beginning when there is neither.';
