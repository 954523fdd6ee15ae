-- One row per discontinuity, as mapped.
create or replace view discontinuity_row as
select
  p.code as project_code,
  d.code as drive_code,
  t.name,
  chainage_of_driven(d.start_chainage_m, d.direction, t.at_m) as chainage_m,
  t.at_m,
  t.type::text as type,
  t.dip_deg,
  t.dip_direction_deg,
  t.set_label,
  t.spacing_m,
  t.persistence_m,
  t.aperture_mm,
  t.roughness::text as roughness,
  t.infilling::text as infilling,
  t.infilling_material,
  t.weathering::text as weathering,
  t.seepage::text as seepage,
  t.position_deg,
  t.remark,
  t.mapped_by,
  t.mapped_at,
  t.pole_east,
  t.pole_north,
  t.pole_down,
  t.drive_id
from discontinuity t
join drive d on d.id = t.drive_id
join project p on p.id = d.project_id;

comment on view discontinuity_row is 'One row per discontinuity, as mapped.';
comment on column discontinuity_row.at_m is 'Driven metres at which it was measured. [m]';
comment on column discontinuity_row.dip_deg is 'Dip, from the horizontal. [deg]';
comment on column discontinuity_row.dip_direction_deg is 'Azimuth of the line of steepest fall, clockwise from north. [deg]';
comment on column discontinuity_row.set_label is 'Label of its set; null: none was given.';
comment on column discontinuity_row.spacing_m is 'Distance to the next of its set, across them. [m]';
comment on column discontinuity_row.persistence_m is 'Length of its trace. [m]';
comment on column discontinuity_row.aperture_mm is 'Aperture. [mm]';
comment on column discontinuity_row.position_deg is 'Place on the wall, clockwise from the crown seen in the direction of the drive. [deg]';
comment on column discontinuity_row.pole_east is 'Pole, a unit vector in the lower hemisphere: to the east.';
comment on column discontinuity_row.pole_north is 'To the north.';
comment on column discontinuity_row.pole_down is 'Downward.';
