-- Fact: one row per line of a shift's support list, with what it measures by the dimensions of its item.
create or replace view fact_support_line as
select
  r.support_installed_id as support_line_id,
  r.production_day,
  r.drive_id,
  r.shift_id,
  d.project_id,
  r.project_code,
  r.drive_code,
  r.support_item_id,
  z.id as zone_id,
  r.line,
  r.from_chainage_m,
  r.to_chainage_m,
  r.from_m,
  r.to_m,
  r.arc_from_deg,
  r.arc_to_deg,
  r.thickness_mm,
  r.installed_at,
  r.quantity,
  r.pieces,
  m.total_length_m,
  m.area_m2,
  m.gross_area_m2,
  m.mass_kg,
  m.theoretical_volume_m3,
  m.expected_volume_m3,
  m.delivered_volume_m3,
  m.placed_volume_m3,
  r.remark,
  c.change_number,
  c.changed_at
from support_row r
cross join lateral (select * from support_measured where support_installed_id = r.support_installed_id offset 0) m
join drive d on d.id = r.drive_id
left join working_zone z on z.project_id = d.project_id and z.code = r.zone
left join lateral (select * from shift_changed where shift_id = r.shift_id offset 0) c on true;

comment on view fact_support_line is
  'Fact: one row per line of a shift''s support list with what it measures. Quantities add up by item and zone to support_total; by ground class see '
  'support_by_ground_class. Quantities, not a judgement of the support: that is for the designer and the local code.';
comment on column fact_support_line.support_line_id is 'Internal number of the line, for joins only.';
comment on column fact_support_line.line is 'Place in the list of its shift.';
comment on column fact_support_line.quantity is 'Quantity in the unit of the item (dim_support_item).';
comment on column fact_support_line.change_number is 'Last change of its shift.';
