-- One row per project and date from which limits of doubt are in force: from valid_from to before valid_to. What a project does not
-- set is the default here; the first row, from the beginning (-infinity), is all defaults.
create or replace view doubt_limit_in_force as
select r.project_id, r.valid_from, coalesce(lead(r.valid_from) over (partition by r.project_id order by r.valid_from), 'infinity') as valid_to,
  r.doubt_limit_id,
  coalesce(r.ahead_of_face_m, 0.500) as ahead_of_face_m,
  coalesce(r.stroke_length_m, 2.500) as stroke_length_m,
  r.stroke_length_m as own_stroke_length_m,
  coalesce(r.over_rating_percent, 5.00) as over_rating_percent,
  coalesce(r.least_thrust_kn, 100.000) as least_thrust_kn,
  coalesce(r.most_thrust_kn, 50000.000) as most_thrust_kn,
  coalesce(r.least_torque_knm, 20.000) as least_torque_knm,
  coalesce(r.most_torque_knm, 30000.000) as most_torque_knm,
  coalesce(r.least_rate_m_per_h, 0.050) as least_rate_m_per_h,
  coalesce(r.most_rate_m_per_h, 15.000) as most_rate_m_per_h
from (
  select id as project_id, '-infinity'::date as valid_from, null::int as doubt_limit_id, null::numeric as ahead_of_face_m, null::numeric as stroke_length_m,
    null::numeric as over_rating_percent, null::numeric as least_thrust_kn, null::numeric as most_thrust_kn, null::numeric as least_torque_knm,
    null::numeric as most_torque_knm, null::numeric as least_rate_m_per_h, null::numeric as most_rate_m_per_h
  from project
  union all
  select project_id, valid_from, id, ahead_of_face_m, stroke_length_m, over_rating_percent, least_thrust_kn, most_thrust_kn, least_torque_knm,
    most_torque_knm, least_rate_m_per_h, most_rate_m_per_h
  from doubt_limit
) r;

comment on view doubt_limit_in_force is
  'Plausibility limits of the record, with the dates on which the limits are in force; defaults where the project sets none.';
comment on column doubt_limit_in_force.valid_from is 'First date; -infinity: from the beginning.';
comment on column doubt_limit_in_force.valid_to is 'Date on which the next limits begin; infinity: none do.';
comment on column doubt_limit_in_force.doubt_limit_id is 'The row that the project set; null: all defaults.';
comment on column doubt_limit_in_force.ahead_of_face_m is 'How far support, ground and overbreak may lie ahead of the face. [m]';
comment on column doubt_limit_in_force.stroke_length_m is 'Length of a full stroke where the machine gives none. [m]';
comment on column doubt_limit_in_force.over_rating_percent is 'How far thrust and torque may be above the machine''s ratings. [%]';
comment on column doubt_limit_in_force.least_thrust_kn is 'Minimum thrust while boring; the friction of the machine where that is more. [kN]';
comment on column doubt_limit_in_force.most_thrust_kn is 'Maximum thrust where the machine has no rating. [kN]';
comment on column doubt_limit_in_force.least_torque_knm is 'Minimum torque while boring; the idle torque of the machine where that is more. [kNm]';
comment on column doubt_limit_in_force.most_torque_knm is 'Maximum torque where the machine has no rating. [kNm]';
comment on column doubt_limit_in_force.least_rate_m_per_h is 'Minimum rate of boring. [m/h]';
comment on column doubt_limit_in_force.most_rate_m_per_h is 'Maximum rate of boring. [m/h]';
