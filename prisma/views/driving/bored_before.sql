-- Metres of a drive bored before a production day: up to the first metres bored on that day or later by the times of the borings; a boring
-- across the start of the day is divided there. Metres without times count as bored before those that follow them.
create or replace function bored_before(drive_id int, production_day date)
returns numeric language sql stable begin atomic
  select coalesce(
    (select min(bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, day.starts_at)) from boring b
      where b.drive_id = bored_before.drive_id and b.ended_at > day.starts_at),
    (select max(b.to_m) from boring b where b.drive_id = bored_before.drive_id),
    0.000)
  from drive d
  join project p on p.id = d.project_id
  cross join lateral (select production_day_start(bored_before.production_day, p.time_zone, p.day_start) as starts_at) day
  where d.id = bored_before.drive_id;
end;

comment on function bored_before(int, date) is
  'Metres of a drive that were bored before a production day, by the times of the borings. [driven m]';
