-- One row per drive: the totals of its overbreak.
create or replace view overbreak_total as
select
  p.code as project_code,
  d.code as drive_code,
  k.item_count,
  coalesce(covered.m, 0.000) as surveyed_m,
  theory.m3 as theoretical_volume_m3,
  k.geological_m3 as geological_volume_m3,
  k.operational_m3 as operational_volume_m3,
  k.geological_m3 + k.operational_m3 as volume_m3,
  round(100 * k.geological_m3 / nullif(theory.m3, 0), 2) as geological_percent,
  round(100 * k.operational_m3 / nullif(theory.m3, 0), 2) as operational_percent,
  round(100 * (k.geological_m3 + k.operational_m3) / nullif(theory.m3, 0), 2) as percent,
  k.max_depth_m,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select count(*)::int as item_count, coalesce(sum(volume_m3) filter (where cause = 'geological'), 0.000) as geological_m3,
    coalesce(sum(volume_m3) filter (where cause = 'operational'), 0.000) as operational_m3, max(max_depth_m) as max_depth_m
  from overbreak_item o where o.drive_id = d.id
) k
cross join lateral (
  select sum(upper(r) - lower(r)) as m
  from (select unnest(range_agg(numrange(from_m, to_m))) as r from overbreak_item o where o.drive_id = d.id) part
) covered
cross join lateral (
  select round(face_area(d.bored_diameter_m) * coalesce(covered.m, 0), 3) as m3
) theory;

comment on view overbreak_total is
  'One row per drive: overbreak surveyed, geological and operational apart, against the theoretical volume of the metres surveyed.';
comment on column overbreak_total.surveyed_m is 'Metres that items cover, one of 0 m3 too. [m]';
comment on column overbreak_total.theoretical_volume_m3 is 'Volume of these metres by the bored diameter. [m3]';
comment on column overbreak_total.volume_m3 is 'Overbreak of both causes. [m3]';
comment on column overbreak_total.geological_percent is 'Geological overbreak over theoretical volume; null where nothing was surveyed. [%]';
comment on column overbreak_total.operational_percent is 'The same of operational overbreak. [%]';
comment on column overbreak_total.percent is 'The same of both. [%]';
comment on column overbreak_total.max_depth_m is 'Largest depth of any item. [m]';
