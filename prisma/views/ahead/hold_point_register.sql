-- One row per hold point: its position relative to the face, and whether it is released. The face has passed it once a boring ends beyond it;
-- the time is interpolated by even progress of that boring. A withdrawn release does not count.
create or replace view hold_point_register as
select
  f.project_code,
  f.drive_code,
  h.code,
  chainage_of_driven(f.start_chainage_m, f.direction, h.at_m) as chainage_m,
  h.at_m,
  h.reason,
  h.side::text as side,
  h.role,
  h.at_m - f.face_m as ahead_m,
  f.face_m > h.at_m as is_passed,
  r.id is not null as is_released,
  f.face_m > h.at_m and r.id is null as is_passed_unreleased,
  passed.at as passed_at,
  r.released_at,
  r.released_at > passed.at as is_released_late,
  h.set_by,
  h.set_at,
  h.drive_id,
  h.id as hold_point_id,
  passed.stroke_number as passed_by_stroke
from hold_point h
join drive_progress f on f.drive_id = h.drive_id
left join hold_point_release r on r.drive_id = h.drive_id and r.hold_point_id = h.id and r.withdrawn_at is null
left join lateral (
  select b.stroke_number, date_trunc('milliseconds', b.started_at + greatest(h.at_m - b.from_m, 0) / (b.to_m - b.from_m) * (b.ended_at - b.started_at)) as at
  from boring b where b.drive_id = h.drive_id and b.to_m > h.at_m order by b.to_m limit 1
) passed on true;

comment on view hold_point_register is
  'The hold points of each drive. It reports what was recorded and decides nothing: the person who is responsible decides whether the face goes on. [m]';
comment on column hold_point_register.side is 'The side of the contract that releases it.';
comment on column hold_point_register.ahead_m is 'From the face to it, along the drive; negative behind the face. [m]';
comment on column hold_point_register.is_passed_unreleased is 'The face has passed it without a valid release.';
comment on column hold_point_register.passed_at is 'When the face passed it; null: not passed, or by a boring without times.';
comment on column hold_point_register.is_released_late is
  'Released after the face had passed it; null: not released, or passed at an unknown time or not at all.';
comment on column hold_point_register.passed_by_stroke is 'The stroke that passed it; null: not passed.';
comment on column hold_point_register.code is 'Code of the hold point in its drive.';
comment on column hold_point_register.chainage_m is 'Its chainage. [m]';
comment on column hold_point_register.at_m is 'Its place, in driven metres. [m]';
comment on column hold_point_register.reason is 'Why the face is to hold there.';
comment on column hold_point_register.role is 'Who of that side releases it, in words; null: not said.';
comment on column hold_point_register.is_passed is 'A boring ends beyond it.';
comment on column hold_point_register.is_released is 'It has a valid release.';
comment on column hold_point_register.released_at is 'When it was released, by the valid release; null: not released.';
comment on column hold_point_register.set_by is 'Who wrote it last.';
comment on column hold_point_register.set_at is 'When it was written last.';
comment on column hold_point_register.hold_point_id is 'Id of the hold point.';
