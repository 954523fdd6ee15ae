-- Position of the face at an instant, by the timed borings, and the metres bored without times.
-- Metres without times count as passed when the next timed boring begins: they may have been bored earlier.
create or replace function face_at(project text, drive text, instant timestamptz)
returns table (face_m numeric, face_chainage_m numeric, untimed_m numeric, untimed_ahead_m numeric, drive_id int)
language sql stable begin atomic
  select face.face_m, chainage_of_driven(d.start_chainage_m, d.direction, face.face_m), untimed.behind_m, untimed.ahead_m, d.id
  from drive d
  join project p on p.id = d.project_id
  cross join lateral face_reached_at(d.id, face_at.instant) face
  left join lateral (
    select from_m from boring where boring.drive_id = d.id and started_at > face_at.instant order by started_at limit 1
  ) next on true
  cross join lateral (
    select coalesce(sum(to_m - from_m) filter (where from_m < face.face_m), 0.000) as behind_m,
      coalesce(sum(to_m - from_m) filter (where from_m >= face.face_m and from_m < coalesce(next.from_m, 'infinity')
        and coalesce(face.bored_until <= face_at.instant, true)), 0.000) as ahead_m
    from boring where boring.drive_id = d.id and started_at is null
  ) untimed
  where p.code = face_at.project and d.code = face_at.drive;
end;

comment on function face_at(text, text, timestamptz) is
  'Position of the face at an instant, by the timed borings. face_m: driven metres, to the millimetre [m]; face_chainage_m: its chainage [m]; untimed_m: '
  'metres behind it bored without times [m]; untimed_ahead_m: metres without times between it and the next timed boring, which may have been bored by then '
  '[m].';
