-- One row per drive and span of dates, valid_from to before valid_to, with the machine data and the limits of doubt in force: those with which a boring
-- of that date is compared.
create or replace view drive_limit as
select d.id as drive_id, greatest(l.valid_from, m.valid_from) as valid_from, least(l.valid_to, m.valid_to) as valid_to,
  m.rated_disc_load_kn, m.rated_torque_knm, m.installed_power_kw, m.rated_thrust_kn,
  coalesce(m.stroke_length_m, l.stroke_length_m) as full_stroke_m, coalesce(l.own_stroke_length_m, m.stroke_length_m + 0.100,
    l.stroke_length_m) as most_stroke_m,
  greatest(m.friction_kn, l.least_thrust_kn) as least_thrust_kn,
  coalesce(m.rated_thrust_kn * (1 + l.over_rating_percent / 100), l.most_thrust_kn) as most_thrust_kn,
  greatest(m.idle_torque_knm, l.least_torque_knm) as least_torque_knm,
  coalesce(m.rated_torque_knm * (1 + l.over_rating_percent / 100), l.most_torque_knm) as most_torque_knm,
  l.least_rate_m_per_h, l.most_rate_m_per_h, l.ahead_of_face_m, l.doubt_limit_id
from drive d
join doubt_limit_in_force l on l.project_id = d.project_id
left join machine_data m on m.machine_id = d.machine_id and m.valid_from < l.valid_to and l.valid_from < m.valid_to;

comment on view drive_limit is 'The data of a drive''s machine and the limits of doubt, with the dates on which both are in force.';
comment on column drive_limit.valid_from is 'First date; -infinity: from the beginning.';
comment on column drive_limit.valid_to is 'First date on which others are in force; infinity: none are.';
comment on column drive_limit.rated_disc_load_kn is 'Rated load of a disc. [kN]';
comment on column drive_limit.rated_torque_knm is 'Rated torque. [kNm]';
comment on column drive_limit.installed_power_kw is 'Installed power of the cutterhead. [kW]';
comment on column drive_limit.rated_thrust_kn is 'Rated thrust. [kN]';
comment on column drive_limit.full_stroke_m is 'Length of a full stroke of the machine, else that of the limits. [m]';
comment on column drive_limit.most_stroke_m is
  'Longest stroke that is not doubted: as the project set it; else a full stroke of the machine and 0.1 m for reading; else 2.5. [m]';
comment on column drive_limit.least_thrust_kn is 'Friction of the machine, or what the limits give where that is more. [kN]';
comment on column drive_limit.most_thrust_kn is 'Rated thrust with what it may be exceeded by, else that of the limits. [kN]';
comment on column drive_limit.least_torque_knm is 'Idle torque of the machine, or what the limits give where that is more. [kNm]';
comment on column drive_limit.most_torque_knm is 'Rated torque with what it may be exceeded by, else that of the limits. [kNm]';
comment on column drive_limit.least_rate_m_per_h is 'Minimum rate of boring. [m/h]';
comment on column drive_limit.most_rate_m_per_h is 'Maximum rate of boring. [m/h]';
comment on column drive_limit.ahead_of_face_m is 'How far support, ground and overbreak may lie ahead of the face. [m]';
comment on column drive_limit.doubt_limit_id is 'The limits that the project set; null: all defaults.';
