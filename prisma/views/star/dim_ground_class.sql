-- Dimension: ground classes.
create or replace view dim_ground_class as
select g.id as ground_class_id, g.project_id, p.code as project_code, g.code as ground_class_code, g.description, g.density_t_per_m3, g.swell_percent,
  h.change_number, h.changed_at
from ground_class g
join project p on p.id = g.project_id
left join lateral (select * from record_changed where table_name = 'ground_class' and record_id = g.id offset 0) h on true;

comment on view dim_ground_class is 'Dimension: one row per ground class.';
comment on column dim_ground_class.density_t_per_m3 is 'Density of the rock in place; null: the drive''s. [t/m3]';
comment on column dim_ground_class.swell_percent is 'Growth of its volume by breaking; null: the drive''s. [%]';
