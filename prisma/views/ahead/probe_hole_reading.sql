-- One row per probe hole: whether it gives cover, and the shift that contains the time at which it was drilled. Shifts of a drive do not
-- overlap: the last one begun contains the time, or none does.
create or replace view probe_hole_reading as
select
  h.probe_hole_id,
  h.drive_id,
  h.name,
  h.collar_m,
  h.reach_m,
  h.gives_cover,
  h.without_position,
  h.beyond_look_out_limit,
  s.id as shift_id,
  s.shift_date,
  n.name as shift_name,
  s.state::text as shift_state,
  h.without_time,
  h.not_yet_drilled,
  h.state,
  h.position_deg,
  h.azimuth_deg,
  h.qualifying_length_m
from probe_hole_cover h
left join lateral (
  select id, ends_at, shift_date, state, calendar_shift_id from shift
  where shift.drive_id = h.drive_id and shift.starts_at <= h.drilled_at order by shift.starts_at desc limit 1
) s on h.drilled_at < s.ends_at
left join calendar_shift n on n.id = s.calendar_shift_id;

comment on view probe_hole_reading is 'Probe holes with what they count for: cover, and the shift that they were drilled in.';
comment on column probe_hole_reading.reach_m is 'To where the hole reaches along the axis, in driven metres. [m]';
comment on column probe_hole_reading.gives_cover is
  'Its position on the ring is known, its look-out angle is within the drive''s limit, and it was drilled by the moment asked for.';
comment on column probe_hole_reading.shift_id is
  'The shift that holds drilled_at, from its start until before its end; null: drilled_at is not noted, or no such shift is posted.';
comment on column probe_hole_reading.without_time is 'drilled_at is not noted.';
comment on column probe_hole_reading.not_yet_drilled is 'drilled_at lies after the moment asked for.';
comment on column probe_hole_reading.state is 'drilled, abandoned, flooded, grouted or control_hole; drilled where none was noted.';
comment on column probe_hole_reading.position_deg is 'Clock position of the collar. [°]';
comment on column probe_hole_reading.azimuth_deg is 'Direction in the plane of the section in which it looks out; its position where none was noted. [°]';
comment on column probe_hole_reading.qualifying_length_m is
  'Length that a minimum length is held against: as drilled; of a hole given up, as planned where that is more. [m]';
