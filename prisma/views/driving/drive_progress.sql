-- One row per drive: the current position of the face, and what is missing from the record.
create or replace view drive_progress as
select
  p.code as project_code,
  d.code as drive_code,
  d.direction,
  d.start_chainage_m,
  d.end_chainage_m,
  drive_length(d.start_chainage_m, d.end_chainage_m) as length_m,
  coalesce(f.face_m, 0.000) as face_m,
  chainage_of_driven(d.start_chainage_m, d.direction, coalesce(f.face_m, 0.000)) as face_chainage_m,
  coalesce(b.bored_m, 0.000) as bored_m,
  coalesce(f.face_m - b.bored_m, 0.000) as missing_m,
  drive_length(d.start_chainage_m, d.end_chainage_m) - coalesce(f.face_m, 0.000) as remaining_m,
  coalesce(b.untimed_m, 0.000) as untimed_m,
  coalesce(b.stroke_count, 0) as stroke_count,
  b.last_bored_at,
  d.id as drive_id,
  h.next_code as next_hold_point,
  chainage_of_driven(d.start_chainage_m, d.direction, h.next_m) as next_hold_point_chainage_m,
  h.next_m - coalesce(f.face_m, 0.000) as to_next_hold_point_m,
  coalesce(h.passed_count, 0) as passed_hold_point_count
from drive d
join project p on p.id = d.project_id
left join lateral ( -- a separate subquery: uses the index, and a query for the face alone reads nothing else
  select max(to_m) as face_m from boring where boring.drive_id = d.id
) f on true
left join lateral (
  select sum(to_m) - sum(from_m) as bored_m, sum(to_m - from_m) filter (where started_at is null) as untimed_m,
    count(distinct stroke_number)::int as stroke_count, max(ended_at) as last_bored_at
  from boring where boring.drive_id = d.id
) b on true
left join lateral ( -- those without a valid release
  select (array_agg(code order by at_m, code) filter (where at_m >= coalesce(f.face_m, 0.000)))[1] as next_code,
    min(at_m) filter (where at_m >= coalesce(f.face_m, 0.000)) as next_m, (count(*) filter (where at_m < f.face_m))::int as passed_count
  from hold_point
  where hold_point.drive_id = d.id
    and not exists (select from hold_point_release r where r.drive_id = d.id and r.hold_point_id = hold_point.id and r.withdrawn_at is null)
) h on true;

comment on view drive_progress is 'One row per drive: the face now, metres bored and metres missing behind the face.';
comment on column drive_progress.face_m is 'Driven metres at the furthest boring. [m]';
comment on column drive_progress.face_chainage_m is 'Chainage of the face. [m]';
comment on column drive_progress.bored_m is 'Sum of all borings. [m]';
comment on column drive_progress.missing_m is 'Metres behind the face without a boring; 0 when the record is whole. [m]';
comment on column drive_progress.remaining_m is 'From the face to the end of the drive. [m]';
comment on column drive_progress.untimed_m is 'Metres bored without times (imported): in no shift and no day. [m]';
comment on column drive_progress.next_hold_point is 'The next hold point at or ahead of the face that is not released; null: none. It decides nothing.';
comment on column drive_progress.next_hold_point_chainage_m is 'Its chainage. [m]';
comment on column drive_progress.to_next_hold_point_m is 'From the face to it; 0 when the face is at it. [m]';
comment on column drive_progress.passed_hold_point_count is 'Hold points behind the face that are not released.';
