-- One row per line of a shift's support list, with the production day in which it counts: that of its time, otherwise that of its shift's start.
create or replace view support_row as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  r.line,
  i.code as item_code,
  i.kind::text as kind,
  i.description,
  r.unit::text as unit,
  r.zone::text as zone,
  chainage_of_driven(d.start_chainage_m, d.direction, r.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.to_m) as to_chainage_m,
  r.from_m,
  r.to_m,
  r.arc_from_deg,
  r.arc_to_deg,
  r.quantity,
  r.thickness_mm,
  r.installed_at,
  production_day(coalesce(r.installed_at, s.starts_at), p.time_zone, p.day_start) as production_day,
  r.remark,
  r.drive_id,
  r.shift_id,
  r.id as support_installed_id,
  r.span,
  r.delivered_volume_m3,
  r.support_item_id,
  case when r.unit = 'nr' then r.quantity end as pieces,
  r.positions_m,
  r.arc_positions_deg
from support_installed r
join shift s on s.id = r.shift_id
join calendar_shift n on n.id = s.calendar_shift_id
join support_item i on i.id = r.support_item_id
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id;

comment on view support_row is 'One row per line of a shift''s support list, as recorded.';
comment on column support_row.quantity is 'Quantity in the item''s unit.';
comment on column support_row.span is 'From and to as a range; of one place where they are equal. [m]';
comment on column support_row.production_day is 'Production day of the installation time, else of the shift''s start.';
comment on column support_row.pieces is 'Number of its pieces, of a counted item; null: measured along its length.';
comment on column support_row.positions_m is 'Positions of its pieces, if posted individually; null: evenly along its interval. [driven m]';
comment on column support_row.arc_positions_deg is 'Positions of the same pieces on the ring, clockwise from the crown. [°]';
comment on column support_row.delivered_volume_m3 is 'Sprayed concrete according to the delivery tickets; null: none given. [m3]';
