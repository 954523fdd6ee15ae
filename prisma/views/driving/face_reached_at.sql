-- How far a drive had advanced at an instant, by the timed borings: within one by bored_until, between two the end of the earlier one, 0 before
-- the first. Along the drive times only rise, so the last boring begun is the furthest.
create or replace function face_reached_at(drive_id int, instant timestamptz)
returns table (face_m numeric, bored_until timestamptz) language sql stable begin atomic
  select coalesce(bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, face_reached_at.instant), 0.000), b.ended_at
  from (select) one
  left join lateral (
    select from_m, to_m, started_at, ended_at from boring
    where boring.drive_id = face_reached_at.drive_id and started_at <= face_reached_at.instant order by started_at desc limit 1
  ) b on true;
end;

comment on function face_reached_at(int, timestamptz) is
  'How far a drive had come at an instant, by its timed borings. face_m: driven metres, to the millimetre, 0 before the first of them [m]; '
  'bored_until: when the last boring begun by then ended, null: none.';
