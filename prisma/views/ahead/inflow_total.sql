-- One row per drive: the total of its stretches, compared with the latest reading at the portal by the moment asked for, and with the pumps.
create or replace view inflow_total as
select
  p.code as project_code,
  d.code as drive_code,
  s.inflow_l_per_min,
  s.measured_m,
  s.gap_m,
  c.portal_measurement,
  c.portal_measured_at::timestamptz(3) as portal_measured_at,
  c.portal_flow_l_per_min::numeric(12,3) as portal_flow_l_per_min,
  c.portal_service_water_l_per_min::numeric(12,3) as portal_service_water_l_per_min,
  c.portal_inflow_l_per_min,
  c.portal_inflow_l_per_min - s.inflow_l_per_min as difference_l_per_min,
  c.total_l_per_min,
  l.pumping_l_per_min,
  c.to_pump_l_per_min,
  l.pumping_l_per_min - c.to_pump_l_per_min as reserve_l_per_min,
  round(100 * c.to_pump_l_per_min / nullif(l.pumping_l_per_min, 0), 1) as pumping_used_percent,
  l.valid_from as limit_valid_from,
  d.id as drive_id,
  c.total_measured_at
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select coalesce(sum(t.inflow_l_per_min), 0.000) as inflow_l_per_min,
    coalesce(sum(t.to_m - t.from_m) filter (where t.measurement_id is not null), 0.000) as measured_m,
    coalesce(sum(t.to_m - t.from_m) filter (where t.measurement_id is null), 0.000) as gap_m, max(t.measured_at) as measured_at
  from inflow_stretch_of(d.id) t
) s
cross join lateral inflow_counted_of(d.id, s.inflow_l_per_min, s.measured_at) c
left join water_limit_in_force l on l.drive_id = d.id;

comment on view inflow_total is
  'Inflow of a drive: the stretches measured, against what the portal shows and against installed pumping capacity. The larger of the two counts. Decision '
  'support.';
comment on column inflow_total.inflow_l_per_min is 'Sum of the stretches. [l/min]';
comment on column inflow_total.measured_m is 'Metres that a measurement covers. [m]';
comment on column inflow_total.gap_m is 'Metres behind the face that none covers. [m]';
comment on column inflow_total.portal_flow_l_per_min is 'Latest reading at the portal; null: none. [l/min]';
comment on column inflow_total.portal_inflow_l_per_min is 'That reading without service water. [l/min]';
comment on column inflow_total.difference_l_per_min is
  'Portal less stretches: what the stretches miss, or what is lost or used on the way; null: no reading at the portal. [l/min]';
comment on column inflow_total.total_l_per_min is 'Larger of portal, without service water, and stretches. [l/min]';
comment on column inflow_total.pumping_l_per_min is 'Installed pumping capacity in force; null: not given. [l/min]';
comment on column inflow_total.to_pump_l_per_min is 'Larger of the reading at the portal, with service water, and the stretches. [l/min]';
comment on column inflow_total.reserve_l_per_min is 'Pumping capacity less that; negative: more flows in than is pumped. [l/min]';
comment on column inflow_total.pumping_used_percent is 'That over pumping capacity. [%]';
comment on column inflow_total.total_measured_at is 'When the larger of the two was measured, of the stretches the latest.';
