-- One row per grouting round, with what its holes took. The surface treated is that of the bore, π · bored diameter · length of the interval
-- treated. Takes are quotients of exact sums, rounded once.
create or replace view grouting_round as
select
  p.code as project_code,
  d.code as drive_code,
  r.name,
  r.purpose::text as purpose,
  r.state::text as state,
  chainage_of_driven(d.start_chainage_m, d.direction, r.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.to_m) as to_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.face_m) as face_chainage_m,
  r.started_at,
  r.ended_at,
  round(hours_between(r.started_at, r.ended_at), 4) as round_hours,
  r.trigger_measurement,
  r.trigger_hole,
  r.remark,
  h.hole_count,
  h.hole_m,
  h.mass_kg,
  h.volume_l,
  round(h.water_kg / nullif(h.cement_kg, 0), 3) as water_cement_ratio,
  round(h.grouting_s / 3600, 4) as grouting_hours,
  r.to_m - r.from_m as treated_m,
  round(a.surface_m2, 3) as treated_surface_m2,
  round(h.mass_kg / nullif(h.hole_m, 0), 3) as take_kg_per_m,
  round(h.volume_l / nullif(h.hole_m, 0), 3) as take_l_per_m,
  round(h.mass_kg / a.surface_m2, 3) as take_kg_per_m2,
  round(h.hole_m / a.surface_m2, 3) as hole_m_per_m2,
  h.pressure_end_bar,
  coalesce(c.hole_count, 0) as control_hole_count,
  coalesce(c.measured_count, 0) as control_hole_measured_count,
  c.inflow_l_per_min as control_inflow_l_per_min,
  c.trigger_l_per_min as control_trigger_l_per_min,
  c.is_met as control_is_met,
  case when r.purpose = 'pre_grouting' and r.state = 'complete' then (
    select coalesce(array_agg(g.figure order by g.figure), '{}') from grouting_published_range() g
    cross join lateral (select case g.figure when 'pressure_end_bar' then h.pressure_end_bar when 'water_cement_ratio' then h.water_kg / nullif(h.cement_kg, 0)
      when 'take_kg_per_m2' then h.mass_kg / a.surface_m2 else h.hole_m / a.surface_m2 end) f(value)
    where f.value < g.low or f.value > g.high) end as beyond_published,
  r.id as grouting_round_id,
  r.drive_id,
  r.from_m,
  r.to_m
from grout_round r
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id
cross join lateral (select circumference(d.bored_diameter_m) * (r.to_m - r.from_m) as surface_m2) a
cross join lateral (
  select count(*)::int as hole_count, coalesce(sum(x.length_m), 0.000) as hole_m, coalesce(sum(m.mass_kg), 0.000) as mass_kg,
    case when count(*) = count(m.volume_l) then coalesce(sum(m.volume_l), 0.000) end as volume_l, sum(m.water_kg) as water_kg, sum(m.cement_kg) as cement_kg,
    sum(extract(epoch from x.ended_at - x.started_at)) as grouting_s, max(x.pressure_end_bar) as pressure_end_bar
  from grout_hole x
  cross join lateral grout_taken(x.id) m
  where x.grout_round_id = r.id
) h
left join (
  select k.drive_id, k.grouting_round_id, count(*)::int as hole_count, count(k.inflow_l_per_min)::int as measured_count,
    max(k.inflow_l_per_min) as inflow_l_per_min,
    max(k.trigger_l_per_min) as trigger_l_per_min, case when bool_or(not k.is_met) then false when count(*) = count(k.is_met) then true end as is_met
  from grouting_control_hole k group by k.drive_id, k.grouting_round_id
) c on c.grouting_round_id = r.id and c.drive_id = r.drive_id;

comment on view grouting_round is
  'One row per grouting round, with what its holes took and what its control holes show. Decision support: whether the ground is tight enough is for the '
  'responsible person.';
comment on column grouting_round.name is 'Name of the round.';
comment on column grouting_round.purpose is 'pre_grouting: ahead of the face. post_grouting: behind it.';
comment on column grouting_round.state is 'under_way, complete or abandoned.';
comment on column grouting_round.from_chainage_m is 'Where the interval treated begins. [m]';
comment on column grouting_round.to_chainage_m is 'Where it ends. [m]';
comment on column grouting_round.face_chainage_m is 'Position of the face; null: not noted. [m]';
comment on column grouting_round.round_hours is 'From the start of the round to its end; null: it has not ended. [h]';
comment on column grouting_round.trigger_measurement is 'Measurement of inflow that led to it.';
comment on column grouting_round.trigger_hole is 'Probe hole that led to it.';
comment on column grouting_round.hole_count is 'Number of holes.';
comment on column grouting_round.hole_m is 'Their length together. [m]';
comment on column grouting_round.mass_kg is 'Dry mass of all mixes. [kg]';
comment on column grouting_round.volume_l is 'Volume of grout of all mixes; null: of one it is not noted. [l]';
comment on column grouting_round.water_cement_ratio is 'Of all mixes with cement together, by mass; null: there are none. [-]';
comment on column grouting_round.grouting_hours is 'Grouting time of the holes whose start and end are recorded, summed: two at once count twice. [h]';
comment on column grouting_round.treated_m is 'Length of the interval treated. [m]';
comment on column grouting_round.treated_surface_m2 is 'Surface of the bore over the interval treated: π × bored diameter × length. [m²]';
comment on column grouting_round.take_kg_per_m is 'Dry mass per metre of hole. [kg/m]';
comment on column grouting_round.take_l_per_m is 'Volume of grout per metre of hole. [l/m]';
comment on column grouting_round.take_kg_per_m2 is 'Dry mass per square metre of the surface treated. [kg/m²]';
comment on column grouting_round.hole_m_per_m2 is 'Metres of hole per square metre of the surface treated. [m/m²]';
comment on column grouting_round.pressure_end_bar is 'Highest pressure at the end of a hole. [bar]';
comment on column grouting_round.control_hole_count is 'Number of control holes.';
comment on column grouting_round.control_hole_measured_count is 'Those of which inflow was measured after the round had ended.';
comment on column grouting_round.control_inflow_l_per_min is 'Highest inflow of them. [l/min]';
comment on column grouting_round.control_trigger_l_per_min is 'Trigger of inflow from one hole in force; null: none is. [l/min]';
comment on column grouting_round.control_is_met is
  'Whether every control hole was measured and is at most at the trigger; false: one is above it; null: not known.';
comment on column grouting_round.beyond_published is
  'Of pre-grouting that is complete, the figures that lie outside of the ranges of grouting_published_range; null: not compared.';
comment on column grouting_round.grouting_round_id is 'Internal number of the round, for joins only.';
