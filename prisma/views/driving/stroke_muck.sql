-- One row per stroke: its theoretical muck against the belt weigher, and the load that it brings to the belt.
--
-- Theory: bored area × length is the volume in place, to 0.001 m3; times density it is the mass, to 0.001 t; swell gives the
-- loose volume. Density and swell are those of the ground class at the middle of the stroke, otherwise the drive's; if neither
-- has one, there is no result. The weigher is compared only if the muck of every boring of the stroke was weighed.
-- Band of the ratio 0.80 to 1.20, a project rule: the effect of scale, density and muck left on the belt on a single stroke.
-- A ratio on the edge of the band lies within it.
create or replace view stroke_muck as
select
  s.project_code,
  s.drive_code,
  s.stroke_number,
  s.from_chainage_m,
  s.to_chainage_m,
  s.length_m,
  ground.ground_class_code,
  rock.density_t_per_m3,
  case when ground.density_t_per_m3 is not null then 'ground_class' when d.density_t_per_m3 is not null then 'drive' end as density_of,
  rock.swell_percent,
  case when ground.swell_percent is not null then 'ground_class' when d.swell_percent is not null then 'drive' end as swell_of,
  volume.bank_volume_m3,
  round(bulked(volume.bank_volume_m3, rock.swell_percent), 3) as loose_volume_m3,
  theory.mass_t as theoretical_mass_t,
  s.muck_mass_t,
  s.weighed_m,
  weighed.mass_t - theory.mass_t as difference_t,
  sum(weighed.mass_t - theory.mass_t) over (partition by s.drive_id order by s.stroke_number) as cumulative_difference_t,
  compared.ratio,
  case when compared.ratio > 1.20 then 'above' when compared.ratio < 0.80 then 'below' when compared.ratio is not null then 'within' end as band,
  s.penetration_rate_m_per_h,
  belt.flow_t_per_h as belt_flow_t_per_h,
  bulked(rock.area_m2::float8 * s.penetration_rate_m_per_h, rock.swell_percent::float8) as loose_flow_m3_per_h,
  m.belt_capacity_t_per_h,
  belt.flow_t_per_h / m.belt_capacity_t_per_h::float8 as belt_load,
  case when belt.flow_t_per_h > m.belt_capacity_t_per_h::float8 then 'limits' when belt.flow_t_per_h is not null
    and m.belt_capacity_t_per_h is not null then 'keeps_pace' end as haulage,
  (m.belt_capacity_t_per_h / (rock.area_m2 * rock.density_t_per_m3))::float8 as full_belt_rate_m_per_h,
  s.drive_id
from stroke s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
left join boring own on own.drive_id = s.drive_id and own.from_m = s.from_m
left join shift sh on sh.drive_id = own.drive_id and sh.id = own.shift_id
cross join lateral (select bored_on(sh.shift_date, own.started_at, p.time_zone, p.day_start) as day offset 0) bored
left join machine_data m on m.machine_id = d.machine_id and bored.day >= m.valid_from and bored.day < m.valid_to
left join lateral ground_at(s.drive_id, (s.from_m + s.to_m) / 2) ground on true
cross join lateral (
  select face_area(d.bored_diameter_m) as area_m2,
    coalesce(ground.density_t_per_m3, d.density_t_per_m3) as density_t_per_m3, coalesce(ground.swell_percent, d.swell_percent) as swell_percent
) rock
cross join lateral (select round(rock.area_m2 * s.length_m, 3) as bank_volume_m3) volume
cross join lateral (select round(volume.bank_volume_m3 * rock.density_t_per_m3, 3) as mass_t) theory
cross join lateral (select case when s.weighed_m = s.length_m then s.muck_mass_t end as mass_t) weighed
cross join lateral (select round(weighed.mass_t / nullif(theory.mass_t, 0), 4) as ratio) compared
cross join lateral (select rock.area_m2::float8 * s.penetration_rate_m_per_h * rock.density_t_per_m3::float8 as flow_t_per_h) belt;

comment on view stroke_muck is
  'One row per stroke: muck by theory against the belt weigher, and the load on the belt. A ratio outside of its band is a reason to look, not a finding.';
comment on column stroke_muck.ground_class_code is 'Ground class noted at the middle of the stroke; null: none noted.';
comment on column stroke_muck.density_t_per_m3 is 'Density in place: of the ground class, else of the drive; null: neither gives one. [t/m3]';
comment on column stroke_muck.density_of is 'Where the density comes from: ground_class or drive.';
comment on column stroke_muck.swell_percent is 'Growth of the volume by breaking: of the ground class, else of the drive; null: neither gives one. [%]';
comment on column stroke_muck.swell_of is 'Where the swell comes from: ground_class or drive.';
comment on column stroke_muck.bank_volume_m3 is 'Volume in place: bored area times length. [m3]';
comment on column stroke_muck.loose_volume_m3 is 'Volume once broken; null without swell. [m3]';
comment on column stroke_muck.theoretical_mass_t is 'Mass by theory; null without density. [t]';
comment on column stroke_muck.muck_mass_t is 'Mass by the belt weigher; of part of the stroke where weighed_m is less than length_m. [t]';
comment on column stroke_muck.weighed_m is 'Metres whose muck was weighed. [m]';
comment on column stroke_muck.difference_t is 'Weigher less theory; null when the stroke was not weighed whole. [t]';
comment on column stroke_muck.cumulative_difference_t is 'Sum of the differences of this and all earlier strokes of the drive. [t]';
comment on column stroke_muck.ratio is 'Weigher over theory, to 0.0001.';
comment on column stroke_muck.band is
  'above 1.20: more muck than bored, check for over-excavation; below 0.80: check the weigher and the record; else within.';
comment on column stroke_muck.belt_flow_t_per_h is 'Mass that comes at the net penetration rate. [t/h]';
comment on column stroke_muck.loose_flow_m3_per_h is 'Loose volume that comes at the net penetration rate. [m3/h]';
comment on column stroke_muck.belt_capacity_t_per_h is 'What the machine''s belt carries by the data in force when the stroke began. [t/h]';
comment on column stroke_muck.belt_load is 'Mass that comes over what the belt carries.';
comment on column stroke_muck.haulage is 'keeps_pace, or limits: more comes than the belt carries; null when either is not known.';
comment on column stroke_muck.full_belt_rate_m_per_h is 'Net penetration rate at which the belt is full. [m/h]';
