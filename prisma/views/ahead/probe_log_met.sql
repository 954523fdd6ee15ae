-- One row per length of a probe hole with water or a void in its log: adjacent lengths of one kind are merged. Water is an inflow above 0, or a
-- pressure above 0 where no inflow was read.
create or replace view probe_log_met as
select
  r.drive_id,
  r.probe_hole_id,
  r.kind,
  min(r.from_m) as from_depth_m,
  max(r.to_m) as to_depth_m,
  sum(r.water_inflow_l_per_min) as inflow_l_per_min
from (
  select l.drive_id, l.probe_hole_id, k.kind, l.from_m, l.to_m, l.water_inflow_l_per_min,
    l.to_m - sum(l.to_m - l.from_m) over (partition by l.drive_id, l.probe_hole_id, k.kind order by l.from_m) as run_m -- equal for adjacent lengths
  from probe_log l
  cross join lateral unnest(array[
    case when l.water_inflow_l_per_min > 0 or (l.water_inflow_l_per_min is null and l.water_pressure_bar > 0) then 'water_bearing' end,
    case when l.is_void then 'void' end
  ]::indication_kind[]) k(kind)
  where k.kind is not null
) r
group by r.drive_id, r.probe_hole_id, r.kind, r.run_m;

comment on view probe_log_met is 'Water and voids in the logs of probe holes, lengths of one kind that touch as one.';
comment on column probe_log_met.kind is 'water_bearing or void.';
comment on column probe_log_met.from_depth_m is 'Depth at which it begins, from the collar. [m]';
comment on column probe_log_met.to_depth_m is 'Depth at which it ends. [m]';
comment on column probe_log_met.inflow_l_per_min is 'Inflow read along it, in all; null: none was read. [l/min]';
