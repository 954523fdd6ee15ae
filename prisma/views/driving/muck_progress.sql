-- One row per drive: the totals of stroke_muck. Theory and weigher are compared over the strokes that have both.
create or replace view muck_progress as
select
  p.code as project_code,
  d.code as drive_code,
  coalesce(k.bored_m, 0.000) as bored_m,
  coalesce(k.bank_volume_m3, 0.000) as bank_volume_m3,
  coalesce(k.loose_volume_m3, 0.000) as loose_volume_m3,
  coalesce(k.loose_m, 0.000) as loose_m,
  coalesce(k.weighed_mass_t, 0.000) as weighed_mass_t,
  coalesce(k.compared_m, 0.000) as compared_m,
  coalesce(k.compared_mass_t, 0.000) as compared_mass_t,
  coalesce(k.theoretical_mass_t, 0.000) as theoretical_mass_t,
  coalesce(k.difference_t, 0.000) as difference_t,
  round(k.compared_mass_t / nullif(k.theoretical_mass_t, 0), 4) as ratio,
  coalesce(k.above_count, 0) as above_count,
  coalesce(k.below_count, 0) as below_count,
  m.belt_capacity_t_per_h,
  k.highest_belt_flow_t_per_h,
  k.highest_belt_load,
  coalesce(k.limited_count, 0) as limited_count,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
left join lateral machine_at_face(d.id) m on true
left join lateral (
  select sum(s.length_m) as bored_m, sum(s.bank_volume_m3) as bank_volume_m3, sum(s.loose_volume_m3) as loose_volume_m3,
    sum(s.length_m) filter (where s.loose_volume_m3 is not null) as loose_m, sum(s.muck_mass_t) as weighed_mass_t,
    sum(s.length_m) filter (where s.difference_t is not null) as compared_m,
    sum(s.muck_mass_t) filter (where s.difference_t is not null) as compared_mass_t,
    sum(s.theoretical_mass_t) filter (where s.difference_t is not null) as theoretical_mass_t, sum(s.difference_t) as difference_t,
    count(*) filter (where s.band = 'above')::int as above_count, count(*) filter (where s.band = 'below')::int as below_count,
    max(s.belt_flow_t_per_h) as highest_belt_flow_t_per_h, max(s.belt_load) as highest_belt_load,
    count(*) filter (where s.haulage = 'limits')::int as limited_count
  from stroke_muck s where s.drive_id = d.id
) k on true;

comment on view muck_progress is 'One row per drive: muck by theory and by the weigher until now, and the highest load on the belt.';
comment on column muck_progress.bored_m is 'Sum of all borings. [m]';
comment on column muck_progress.bank_volume_m3 is 'Volume in place of all strokes. [m3]';
comment on column muck_progress.loose_volume_m3 is 'Volume once broken, of the strokes whose swell is known. [m3]';
comment on column muck_progress.loose_m is 'Metres that the loose volume covers. [m]';
comment on column muck_progress.weighed_mass_t is 'All that the belt weigher gave. [t]';
comment on column muck_progress.compared_m is
  'Metres of the strokes weighed whole whose density is known: compared_mass_t, theoretical_mass_t, difference_t and ratio are of these. [m]';
comment on column muck_progress.compared_mass_t is 'Their mass by the weigher. [t]';
comment on column muck_progress.theoretical_mass_t is 'Their mass by theory. [t]';
comment on column muck_progress.difference_t is 'Weigher less theory. [t]';
comment on column muck_progress.ratio is 'Weigher over theory, to 0.0001; null when nothing can be compared.';
comment on column muck_progress.above_count is 'Strokes whose own ratio lies above the band of stroke_muck.';
comment on column muck_progress.below_count is 'Strokes whose own ratio lies below it.';
comment on column muck_progress.belt_capacity_t_per_h is 'What the machine''s belt carries by the data in force at the face. [t/h]';
comment on column muck_progress.highest_belt_flow_t_per_h is 'Highest mass flow of a stroke at its net penetration rate. [t/h]';
comment on column muck_progress.highest_belt_load is 'The same over the belt''s capacity.';
comment on column muck_progress.limited_count is 'Strokes that bring more than the belt carries.';
