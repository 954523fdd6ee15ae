-- One row a probe hole: whether it gives cover, and the shift that holds the time it was drilled at. Without its place on the ring it is
-- not known which part of the section a hole sees; one that looks out beyond the drive's limit soon lies outside of it; one without a
-- time, or with one still to come, may not have been drilled. Shifts of a drive do not overlap: the last that had begun holds the time, or none does.
create or replace view probe_hole_reading as
select
  h.id as probe_hole_id,
  h.drive_id,
  h.name,
  h.collar_m,
  h.collar_m + h.axial_reach_m as reach_m,
  h.position_deg is not null and h.look_out_deg <= d.probe_look_out_limit_deg
    and h.drilled_at is not null and h.drilled_at <= (select moment_asked()) as gives_cover,
  h.position_deg is null as without_position,
  h.look_out_deg > d.probe_look_out_limit_deg as beyond_look_out_limit,
  s.id as shift_id,
  s.shift_date,
  n.name as shift_name,
  s.state::text as shift_state,
  h.drilled_at is null as without_time,
  coalesce(h.drilled_at > (select moment_asked()), false) as not_yet_drilled,
  coalesce(h.state::text, 'drilled') as state,
  h.position_deg,
  coalesce(h.look_out_azimuth_deg, h.position_deg) as azimuth_deg,
  case when h.state in ('abandoned', 'flooded') then greatest(h.length_m, h.planned_length_m) else h.length_m end as qualifying_length_m
from probe_hole h
join drive d on d.id = h.drive_id
left join lateral (
  select id, ends_at, shift_date, state, calendar_shift_id from shift
  where shift.drive_id = h.drive_id and shift.starts_at <= h.drilled_at order by shift.starts_at desc limit 1
) s on h.drilled_at < s.ends_at
left join calendar_shift n on n.id = s.calendar_shift_id;

comment on view probe_hole_reading is 'Probe holes with what they count for: cover, and the shift that they were drilled in.';
comment on column probe_hole_reading.reach_m is 'To where the hole reaches along the axis, in driven metres. [m]';
comment on column probe_hole_reading.gives_cover is 'Its position on the ring is known, its look-out angle is within the drive''s limit, and it was drilled by the moment asked for.';
comment on column probe_hole_reading.shift_id is 'The shift that holds drilled_at, from its start until before its end; null: drilled_at is not noted, or no such shift is posted.';
comment on column probe_hole_reading.without_time is 'drilled_at is not noted.';
comment on column probe_hole_reading.not_yet_drilled is 'drilled_at lies after the moment asked for.';
comment on column probe_hole_reading.state is 'drilled, abandoned, flooded, grouted or control_hole; drilled where none was noted.';
comment on column probe_hole_reading.position_deg is 'Clock position of the collar. [°]';
comment on column probe_hole_reading.azimuth_deg is 'Direction in the plane of the section in which it looks out; its position where none was noted. [°]';
comment on column probe_hole_reading.qualifying_length_m is 'Length that a minimum length is held against: as drilled; of a hole given up, as planned where that is more. [m]';
