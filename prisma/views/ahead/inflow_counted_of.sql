-- One row: the effective inflow of a drive, given the total of its stretches: the larger of that and the latest reading at the portal by the
-- moment asked for, with the figures in force.
create or replace function inflow_counted_of(drive_id int, inflow_l_per_min numeric, measured_at timestamptz)
returns table (
  portal_measurement text, portal_measured_at timestamptz, portal_flow_l_per_min numeric, portal_service_water_l_per_min numeric,
  portal_inflow_l_per_min numeric, total_l_per_min numeric, to_pump_l_per_min numeric, total_measured_at timestamptz)
language sql stable begin atomic
  select portal.name, portal.measured_at, portal.flow_l_per_min, portal.service_water_l_per_min, portal.inflow_l_per_min,
    greatest(portal.inflow_l_per_min, inflow_counted_of.inflow_l_per_min), greatest(portal.flow_l_per_min, inflow_counted_of.inflow_l_per_min),
    case when portal.inflow_l_per_min >= inflow_counted_of.inflow_l_per_min then portal.measured_at else inflow_counted_of.measured_at end
  from (values (1)) one
  left join lateral (
    select m.name, m.measured_at, m.flow_l_per_min, m.service_water_l_per_min, m.flow_l_per_min - coalesce(m.service_water_l_per_min, 0) as inflow_l_per_min
    from inflow_measurement m where m.drive_id = inflow_counted_of.drive_id and m.place = 'portal' and m.measured_at <= (select moment_asked())
    order by m.measured_at desc, m.id desc limit 1
  ) portal on true;
end;

comment on function inflow_counted_of(int, numeric, timestamptz) is
  'What counts as the inflow of a drive in all and what is to be pumped [l/min]: the larger of what its stretches add up to and of the latest reading at the '
  'portal, without and with service water.';
