-- One row per control hole of a grouting round: its latest inflow, measured after the end of the round, against the trigger for a hole in
-- force. Without such a measurement it is unknown whether the trigger is met.
create or replace view grouting_control_hole as
select
  p.code as project_code,
  d.code as drive_code,
  r.name as round,
  c.hole,
  h.id is not null as is_recorded,
  i.inflow_l_per_min,
  i.measured_at,
  l.per_hole_l_per_min as trigger_l_per_min,
  i.inflow_l_per_min <= l.per_hole_l_per_min as is_met,
  r.id as grouting_round_id,
  r.drive_id,
  c.place::int as place
from grout_round r
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id
cross join lateral unnest(r.control_holes) with ordinality c(hole, place)
left join probe_hole h on h.drive_id = r.drive_id and h.name = c.hole
left join inflow_of_hole i on i.drive_id = r.drive_id and i.hole = c.hole and i.measured_at >= r.ended_at
left join water_limit_in_force l on l.drive_id = r.drive_id;

comment on view grouting_control_hole is
  'One row per control hole of a grouting round: its inflow since the round ended, against the trigger of a hole. Decision support.';
comment on column grouting_control_hole.round is 'Name of the grouting round.';
comment on column grouting_control_hole.hole is 'Name of the control hole.';
comment on column grouting_control_hole.place is 'Its place in the list of the round, from 1.';
comment on column grouting_control_hole.is_recorded is 'Whether the record has a probe hole of that name.';
comment on column grouting_control_hole.inflow_l_per_min is 'Latest inflow of the hole, measured after the round had ended; null: none was. [l/min]';
comment on column grouting_control_hole.measured_at is 'When it was measured.';
comment on column grouting_control_hole.trigger_l_per_min is 'Trigger of inflow from one hole in force; null: none is. [l/min]';
comment on column grouting_control_hole.is_met is 'Whether the inflow is at most the trigger; null: one of them is not known.';
comment on column grouting_control_hole.grouting_round_id is 'Internal number of the round, for joins only.';
