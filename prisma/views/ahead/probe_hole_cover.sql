-- One row per probe hole: whether it gives cover, and how far it reaches. Without its position on the ring it is unknown which part of the
-- section a hole covers; one that looks out beyond the drive's limit soon leaves the section; one without a time, or with a future time, may
-- not have been drilled.
create or replace view probe_hole_cover as
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
  h.drilled_at is null as without_time,
  coalesce(h.drilled_at > (select moment_asked()), false) as not_yet_drilled,
  coalesce(h.state::text, 'drilled') as state,
  h.position_deg,
  coalesce(h.look_out_azimuth_deg, h.position_deg) as azimuth_deg,
  case when h.state in ('abandoned', 'flooded') then greatest(h.length_m, h.planned_length_m) else h.length_m end as qualifying_length_m,
  h.drilled_at
from probe_hole h
join drive d on d.id = h.drive_id;

comment on view probe_hole_cover is 'The probe holes of a drive: how far each reaches, and whether it gives cover.';
comment on column probe_hole_cover.drilled_at is 'When it was drilled; null: not noted.';
