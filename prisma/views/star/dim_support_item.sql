-- Dimension: support items.
create or replace view dim_support_item as
select i.id as support_item_id, i.project_id, p.code as project_code, i.code as item_code, i.kind::text as kind, i.description, i.unit::text as unit,
  i.length_m, i.diameter_mm,
  i.capacity_kn, i.profile, i.mix, i.theoretical_thickness_mm,
  h.change_number, h.changed_at
from support_item i
join project p on p.id = i.project_id
left join lateral (select * from record_changed where table_name = 'support_item' and record_id = i.id offset 0) h on true;

comment on view dim_support_item is 'Dimension: one row per support item.';
comment on column dim_support_item.length_m is 'Length of a bolt, spile or drain; developed length of a rib or lattice girder; null: none given. [m]';
comment on column dim_support_item.diameter_mm is 'Diameter of a bolt, spile or drain; null: none given. [mm]';
comment on column dim_support_item.capacity_kn is 'Capacity; null: none given. [kN]';
comment on column dim_support_item.profile is 'Profile of a rib; null: none given.';
comment on column dim_support_item.mix is 'Mix of sprayed concrete; null: none given.';
comment on column dim_support_item.theoretical_thickness_mm is 'Theoretical thickness; null: none given. [mm]';
