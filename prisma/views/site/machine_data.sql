-- One row per machine and revision of its data, with the dates on which they are in force: from valid_from to before valid_to. The
-- first are in force from the beginning (-infinity).
create or replace view machine_data as
select machine_id, valid_from, coalesce(lead(valid_from) over (partition by machine_id order by valid_from), 'infinity') as valid_to, revision,
  disc_count, disc_radius_mm, rated_disc_load_kn, stroke_length_m, installed_power_kw, rated_thrust_kn, rated_torque_knm,
    friction_kn, idle_torque_knm, torque_ratio_lower, torque_ratio_upper, belt_capacity_t_per_h, project_id
from (
  select id as machine_id, '-infinity'::date as valid_from, revision,
    disc_count, disc_radius_mm, rated_disc_load_kn, stroke_length_m, installed_power_kw, rated_thrust_kn, rated_torque_knm,
    friction_kn, idle_torque_knm, torque_ratio_lower, torque_ratio_upper, belt_capacity_t_per_h, project_id
  from machine
  union all
  select machine_id, valid_from, revision,
    disc_count, disc_radius_mm, rated_disc_load_kn, stroke_length_m, installed_power_kw, rated_thrust_kn, rated_torque_knm,
    friction_kn, idle_torque_knm, torque_ratio_lower, torque_ratio_upper, belt_capacity_t_per_h, project_id
  from machine_revision
) r;

comment on view machine_data is 'The data of the machines, each revision with the dates on which it is in force.';
comment on column machine_data.valid_from is 'First date; -infinity: from the beginning.';
comment on column machine_data.valid_to is 'Date on which the next revision begins; infinity: none does.';
