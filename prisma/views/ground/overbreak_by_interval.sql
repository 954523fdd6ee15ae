-- report.overbreak_in_intervals at 10 m, for clients that read views only.
create or replace view overbreak_by_interval as
select o.*
from drive d
join project p on p.id = d.project_id
cross join lateral overbreak_in_intervals(p.code, d.code, 10) o;

comment on view overbreak_by_interval is
  'Overbreak by 10 m of chainage, geological and operational apart; other lengths by overbreak_in_intervals. Sums to overbreak_total.';
comment on column overbreak_by_interval.surveyed_m is 'Metres that items cover, one of 0 m3 too. [m]';
comment on column overbreak_by_interval.theoretical_volume_m3 is 'Volume of these metres by the bored diameter. [m3]';
comment on column overbreak_by_interval.percent is 'Overbreak over theoretical volume. [%]';
comment on column overbreak_by_interval.max_depth_m is 'Largest depth of the items that touch the interval. [m]';
