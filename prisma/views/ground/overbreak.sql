-- One row per item of overbreak, as surveyed.
create or replace view overbreak as
select
  p.code as project_code,
  d.code as drive_code,
  o.name,
  chainage_of_driven(d.start_chainage_m, d.direction, o.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, o.to_m) as to_chainage_m,
  o.from_m,
  o.to_m,
  o.to_m - o.from_m as length_m,
  o.cause::text as cause,
  o.area_m2,
  o.volume_m3,
  o.volume_surveyed,
  o.max_depth_m,
  o.arc_from_deg,
  o.arc_to_deg,
  o.remark,
  o.surveyed_by,
  o.surveyed_at,
  o.drive_id
from overbreak_item o
join drive d on d.id = o.drive_id
join project p on p.id = d.project_id;

comment on view overbreak is 'One row per item of overbreak: rock that came out beyond the bored section, by cause and place.';
comment on column overbreak.cause is 'geological: by the ground; operational: by the way of working.';
comment on column overbreak.area_m2 is 'As-built area less theoretical area; null: only the volume was surveyed. [m2]';
comment on column overbreak.volume_m3 is 'Volume; area times length where it was not surveyed itself. [m3]';
comment on column overbreak.volume_surveyed is 'Whether the volume was surveyed; else it is area times length.';
comment on column overbreak.max_depth_m is 'Largest depth beyond the bored section. [m]';
comment on column overbreak.arc_from_deg is 'Start of its arc, clockwise from the crown seen in the direction of the drive; null: no arc was given. [deg]';
