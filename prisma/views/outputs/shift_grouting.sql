-- One row per shift and grouting round with holes completed in the shift, by the rule of grouting_hole: an end at the end of a shift belongs to that shift.
create or replace view shift_grouting as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  r.name,
  r.purpose::text as purpose,
  r.state::text as state,
  chainage_of_driven(d.start_chainage_m, d.direction, r.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.to_m) as to_chainage_m,
  t.hole_count,
  t.hole_m,
  t.mass_kg,
  t.pressure_end_bar,
  t.last_done_at,
  r.remark,
  s.drive_id,
  s.id as shift_id
from (
  select x.id as shift_id, h.grout_round_id, count(*)::int as hole_count, sum(h.length_m) as hole_m, sum(m.mass_kg) as mass_kg,
    max(h.pressure_end_bar) as pressure_end_bar, max(coalesce(h.ended_at, o.ended_at)) as last_done_at
  from shift x
  join grout_round o on o.drive_id = x.drive_id
  join grout_hole h on h.grout_round_id = o.id and h.drive_id = o.drive_id
    and coalesce(h.ended_at, o.ended_at) > x.starts_at and coalesce(h.ended_at, o.ended_at) <= x.ends_at
  cross join lateral (select coalesce(sum(y.mass_kg), 0.000) as mass_kg from grout_mix y where y.grout_hole_id = h.id) m
  group by x.id, h.grout_round_id
) t
join shift s on s.id = t.shift_id
join grout_round r on r.id = t.grout_round_id and r.drive_id = s.drive_id
join calendar_shift n on n.id = s.calendar_shift_id
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id;

comment on view shift_grouting is 'One row per shift and grouting round of which holes were done in the shift. Decision support.';
comment on column shift_grouting.name is 'Name of the round.';
comment on column shift_grouting.purpose is 'pre_grouting: ahead of the face. post_grouting: behind it.';
comment on column shift_grouting.state is 'State of the round: under_way, complete or abandoned.';
comment on column shift_grouting.from_chainage_m is 'Where the interval treated begins. [m]';
comment on column shift_grouting.to_chainage_m is 'Where it ends. [m]';
comment on column shift_grouting.hole_count is 'Number of its holes done in the shift.';
comment on column shift_grouting.hole_m is 'Their length together. [m]';
comment on column shift_grouting.mass_kg is 'Dry mass that they took. [kg]';
comment on column shift_grouting.pressure_end_bar is 'Highest pressure at the end of grouting among them; null: not noted. [bar]';
comment on column shift_grouting.last_done_at is 'When the last of them was done.';
