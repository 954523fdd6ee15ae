-- One row per hole of a grouting round, with what it took and the shift in which it is paid: the one in which the grouting of the hole ended
-- or, if that is not noted, the round; an end at the end of a shift belongs to that shift. Shifts of a drive do not overlap: the last one
-- that began before the end contains it, or none does.
create or replace view grouting_hole as
select
  p.code as project_code,
  d.code as drive_code,
  r.name as round,
  h.name,
  chainage_of_driven(d.start_chainage_m, d.direction, h.collar_m) as collar_chainage_m,
  h.position_deg,
  h.look_out_deg,
  coalesce(h.look_out_azimuth_deg, h.position_deg) as azimuth_deg,
  h.length_m,
  h.diameter_mm,
  h.axial_reach_m,
  h.radial_spread_m,
  chainage_of_driven(d.start_chainage_m, d.direction, h.collar_m + h.axial_reach_m) as reach_chainage_m,
  h.started_at,
  h.ended_at,
  round(hours_between(h.started_at, h.ended_at), 4) as grouting_hours,
  m.mass_kg,
  m.volume_l,
  round(m.water_kg / nullif(m.cement_kg, 0), 3) as water_cement_ratio,
  round(m.mass_kg / h.length_m, 3) as take_kg_per_m,
  round(m.volume_l / h.length_m, 3) as take_l_per_m,
  h.pressure_end_bar,
  h.stop_criterion::text as stop_criterion,
  h.remark,
  done.at as done_at,
  s.shift_date,
  n.name as shift_name,
  s.state::text as shift_state,
  s.id as shift_id,
  h.collar_m,
  r.id as grouting_round_id,
  h.id as grouting_hole_id,
  h.drive_id,
  h.look_out_azimuth_deg as noted_azimuth_deg
from grout_hole h
join grout_round r on r.id = h.grout_round_id
join drive d on d.id = h.drive_id
join project p on p.id = d.project_id
cross join lateral (select coalesce(h.ended_at, r.ended_at) as at) done
cross join lateral grout_taken(h.id) m
left join lateral (
  select id, ends_at, shift_date, state, calendar_shift_id from shift
  where shift.drive_id = h.drive_id and shift.starts_at < done.at order by shift.starts_at desc limit 1
) s on done.at <= s.ends_at
left join calendar_shift n on n.id = s.calendar_shift_id;

comment on view grouting_hole is 'One row per hole of a grouting round, with what it took. Decision support.';
comment on column grouting_hole.round is 'Name of the grouting round.';
comment on column grouting_hole.name is 'Name of the hole in its round.';
comment on column grouting_hole.collar_chainage_m is 'Chainage of the collar. [m]';
comment on column grouting_hole.position_deg is 'Place of the collar on the circumference, clockwise from the crown seen in the direction of the drive. [°]';
comment on column grouting_hole.look_out_deg is 'Angle between hole and axis. [°]';
comment on column grouting_hole.azimuth_deg is 'Direction in the plane of the section in which it looks out; its position where none was noted. [°]';
comment on column grouting_hole.noted_azimuth_deg is 'The same as noted; null: not noted. [°]';
comment on column grouting_hole.length_m is 'Drilled length. [m]';
comment on column grouting_hole.diameter_mm is 'Diameter of the hole; null: not noted. [mm]';
comment on column grouting_hole.axial_reach_m is 'Reach along the axis: length × cos(look-out). [m]';
comment on column grouting_hole.radial_spread_m is 'Distance of its end from the line of the collar: length × sin(look-out). [m]';
comment on column grouting_hole.reach_chainage_m is 'Chainage to which it reaches. [m]';
comment on column grouting_hole.started_at is 'When grouting of the hole began; null: not noted.';
comment on column grouting_hole.ended_at is 'When it ended; null: not noted.';
comment on column grouting_hole.grouting_hours is 'From one to the other; null: one is not noted. [h]';
comment on column grouting_hole.mass_kg is 'Dry mass of all mixes. [kg]';
comment on column grouting_hole.volume_l is 'Volume of grout of all mixes; null: of one it is not noted. [l]';
comment on column grouting_hole.water_cement_ratio is 'Of the mixes with cement together, by mass; null: there are none. [-]';
comment on column grouting_hole.take_kg_per_m is 'Dry mass per metre of hole. [kg/m]';
comment on column grouting_hole.take_l_per_m is 'Volume of grout per metre of hole. [l/m]';
comment on column grouting_hole.pressure_end_bar is 'Pressure at the end; null: not noted. [bar]';
comment on column grouting_hole.stop_criterion is 'Why grouting of the hole ended: pressure, volume, flow, leakage, connection or other; null: not noted.';
comment on column grouting_hole.done_at is 'When its work was done: its end, or that of the round where its own is not noted; null: neither is.';
comment on column grouting_hole.shift_date is 'Date of the shift in which its work was done; without such a shift it is not paid.';
comment on column grouting_hole.shift_name is 'Name of that shift.';
comment on column grouting_hole.shift_state is 'State of that shift; the hole is paid once it is countersigned.';
comment on column grouting_hole.shift_id is 'Internal number of that shift, for joins only.';
comment on column grouting_hole.grouting_round_id is 'Internal number of the round, for joins only.';
comment on column grouting_hole.grouting_hole_id is 'Internal number of the hole, for joins only.';
