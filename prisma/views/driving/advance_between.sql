-- Metres bored in [from_at, to_at), using bored_until at both ends, so that consecutive windows sum exactly. Other metres passed by the face are
-- given separately: from - to = advance_m + untimed_m + missing_m. No row unless from_at is earlier than to_at.
create or replace function advance_between(project text, drive text, from_at timestamptz, to_at timestamptz)
returns table (
  advance_m numeric, boring_hours numeric, stroke_count int, from_m numeric, to_m numeric, from_chainage_m numeric, to_chainage_m numeric,
  untimed_m numeric, missing_m numeric, drive_id int)
language sql stable begin atomic
  select part.advance_m, part.boring_hours, part.stroke_count, a.face_m, z.face_m, a.face_chainage_m, z.face_chainage_m,
    z.untimed_m - a.untimed_m, z.face_m - a.face_m - part.advance_m - (z.untimed_m - a.untimed_m), d.id
  from drive d
  join project p on p.id = d.project_id
  cross join lateral face_at(p.code, d.code, advance_between.from_at) a
  cross join lateral face_at(p.code, d.code, advance_between.to_at) z
  cross join lateral (
    select coalesce(max(started_at), '-infinity') as first_at from boring where boring.drive_id = d.id and started_at <= advance_between.from_at
  ) begun
  cross join lateral (
    select
      coalesce(sum(bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, advance_between.to_at)
        - bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, advance_between.from_at)), 0.000) as advance_m,
      round(coalesce(sum(seconds_within(b.started_at, b.ended_at, advance_between.from_at, advance_between.to_at)), 0) / 3600, 4)
        as boring_hours,
      count(distinct b.stroke_number)::int as stroke_count
    from boring b where b.drive_id = d.id and b.started_at >= begun.first_at and b.started_at < advance_between.to_at and b.ended_at > advance_between.from_at
  ) part
  where p.code = advance_between.project and d.code = advance_between.drive and advance_between.from_at < advance_between.to_at;
end;

comment on function advance_between(text, text, timestamptz, timestamptz) is
  'Metres bored from an instant to another, by boring time [m]; boring time [h]; strokes bored at; the face at both ends [m]; untimed_m: metres without times '
  'that the face passed, in no window of time [m]; missing_m: metres that it passed and no boring reports [m].';
