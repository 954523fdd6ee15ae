-- One row per inflow trigger that is exceeded at the moment asked for, by the figures in force on that day.
create or replace view inflow_over_trigger as
select
  p.code as project_code,
  d.code as drive_code,
  o.kind,
  chainage_of_driven(d.start_chainage_m, d.direction, o.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, o.to_m) as to_chainage_m,
  o.hole,
  o.inflow_l_per_min,
  o.trigger_l_per_min,
  o.measured_at,
  l.valid_from as limit_valid_from,
  o.from_m,
  o.to_m,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
join water_limit_in_force l on l.drive_id = d.id
cross join lateral (
  with part as materialized (
    select i.* from inflow_in_intervals(p.code, d.code, 100) i
  ), total as materialized ( -- the intervals add up to the stretches
    select c.* from (select coalesce(sum(part.inflow_l_per_min), 0.000) as inflow_l_per_min, max(part.measured_at) as measured_at from part) s
    cross join lateral inflow_counted_of(d.id, s.inflow_l_per_min, s.measured_at) c
  )
  select 'per_100m' as kind, i.from_m, i.to_m, null as hole, i.per_100m_l_per_min as inflow_l_per_min, l.per_100m_l_per_min as trigger_l_per_min, i.measured_at
  from part i where i.per_100m_l_per_min > l.per_100m_l_per_min
  union all
  select 'hole', null, null, h.hole, h.inflow_l_per_min, l.per_hole_l_per_min, h.measured_at
  from inflow_of_hole h where h.drive_id = d.id and h.inflow_l_per_min > l.per_hole_l_per_min
  union all
  select 'total', null, null, null, t.total_l_per_min, l.total_l_per_min, t.total_measured_at
  from total t where t.total_l_per_min > l.total_l_per_min
  union all
  select 'pumping', null, null, null, t.to_pump_l_per_min, l.pumping_l_per_min, t.total_measured_at
  from total t where t.to_pump_l_per_min > l.pumping_l_per_min
) o;

comment on view inflow_over_trigger is
  'Triggers of inflow that are exceeded: by a 100 m interval of the drive, by a hole, by the drive in all, or by what is to be pumped above the installed '
  'capacity. Decision support.';
comment on column inflow_over_trigger.kind is 'per_100m, hole, total or pumping.';
comment on column inflow_over_trigger.inflow_l_per_min is 'What was measured; of per_100m, per 100 m of the metres measured in the interval. [l/min]';
comment on column inflow_over_trigger.trigger_l_per_min is 'What it exceeds. [l/min]';
comment on column inflow_over_trigger.measured_at is 'When it was measured, of several measurements the latest.';
