-- One row per shift, zone and support item: what the shift installed, summed over the lines of its list. Not an assessment of the support: that is
-- for the designer and the local code.
create or replace view shift_support as
select
  r.project_code,
  r.drive_code,
  r.shift_date,
  r.shift_name,
  r.zone,
  z.name as zone_name,
  r.item_code,
  r.kind,
  r.description,
  r.unit,
  case when d.direction > 0 then min(r.from_chainage_m) else max(r.from_chainage_m) end as from_chainage_m,
  case when d.direction > 0 then max(r.to_chainage_m) else min(r.to_chainage_m) end as to_chainage_m,
  sum(r.quantity) as quantity,
  count(*)::int as line_count,
  min(r.thickness_mm) as least_thickness_mm,
  max(r.thickness_mm) as most_thickness_mm,
  sum(r.delivered_volume_m3) as delivered_volume_m3,
  array_agg(distinct r.remark order by r.remark) filter (where r.remark is not null) as remarks,
  r.drive_id,
  r.shift_id
from support_row r
join drive d on d.id = r.drive_id
left join working_zone z on z.project_id = d.project_id and z.code = r.zone
group by r.project_code, r.drive_code, r.shift_date, r.shift_name, r.zone, z.name, r.item_code, r.kind, r.description, r.unit, d.direction, r.drive_id,
  r.shift_id;

comment on view shift_support is
  'Support installed by each shift, by zone and item, summed over its support lines. What is required, and whether it suffices, is for the designer and the '
  'local code.';
comment on column shift_support.zone_name is 'Name of the zone.';
comment on column shift_support.from_chainage_m is 'Chainage where the first of its lines begins, in the direction of the drive. [m]';
comment on column shift_support.to_chainage_m is 'Chainage where the last of its lines ends. [m]';
comment on column shift_support.quantity is 'Quantity in the item''s unit.';
comment on column shift_support.line_count is 'Number of support lines.';
comment on column shift_support.least_thickness_mm is 'Least thickness of its lines; null: none given. [mm]';
comment on column shift_support.most_thickness_mm is 'Greatest thickness of its lines; null: none given. [mm]';
comment on column shift_support.delivered_volume_m3 is 'Sprayed concrete according to the delivery tickets; null: none given. [m3]';
comment on column shift_support.remarks is 'Remarks of its lines, each once.';
