-- One row per set of discontinuities in a part of the drive: sums over the poles, from which the mean orientation follows (docs/calculations.md).
-- They are summed as decimals, which give the same sum in any order: so the result is the same at any time, and for two equal drives.
-- The part is half open along the drive, closed at the end of the drive; null ends: those of the drive. Null label: discontinuities without a set.
create or replace function discontinuity_sets_between(project text, drive text, from_chainage numeric, to_chainage numeric)
returns table (
  project_code text, drive_code text, set_label text, discontinuity_count int, sum_east_east float8, sum_north_north float8,
  sum_down_down float8, sum_east_north float8, sum_east_down float8, sum_north_down float8, mean_spacing_m numeric, spacing_count int,
  mean_persistence_m numeric, persistence_count int, mean_aperture_mm numeric, aperture_count int, seeping_count int,
  first_chainage_m numeric, last_chainage_m numeric, drive_id int)
language sql stable begin atomic
  with place as materialized ( -- with ends computed beforehand, the index is used under row-level security too
    select d.id, p.code as project_code, d.code as drive_code, d.start_chainage_m, d.direction, least(a, b) as low_m,
      range_end(a, b, drive_length(d.start_chainage_m, d.end_chainage_m)) as high_m
    from drive d join project p on p.id = d.project_id
    cross join lateral (select driven_of_chainage(d.start_chainage_m, d.direction, coalesce(from_chainage, d.start_chainage_m)) as a,
      driven_of_chainage(d.start_chainage_m, d.direction, coalesce(to_chainage, d.end_chainage_m)) as b) asked
    where p.code = project and d.code = drive
  )
  select place.project_code, place.drive_code, t.set_label, count(*)::int,
    sum((t.pole_east * t.pole_east)::numeric)::float8, sum((t.pole_north * t.pole_north)::numeric)::float8, sum((t.pole_down * t.pole_down)::numeric)::float8,
    sum((t.pole_east * t.pole_north)::numeric)::float8, sum((t.pole_east * t.pole_down)::numeric)::float8, sum((t.pole_north * t.pole_down)::numeric)::float8,
    round(avg(t.spacing_m), 3), count(t.spacing_m)::int, round(avg(t.persistence_m), 3), count(t.persistence_m)::int,
    round(avg(t.aperture_mm), 2), count(t.aperture_mm)::int, count(*) filter (where t.seepage <> 'dry')::int,
    chainage_of_driven(place.start_chainage_m, place.direction, min(t.at_m)), chainage_of_driven(place.start_chainage_m, place.direction, max(t.at_m)), place.id
  from place
  cross join lateral (
    select * from discontinuity where drive_id = place.id and at_m >= place.low_m and at_m < place.high_m offset 0
  ) t
  group by place.project_code, place.drive_code, place.start_chainage_m, place.direction, place.id, t.set_label;
end;

comment on function discontinuity_sets_between(text, text, numeric, numeric) is
  'Sets of discontinuities in a part of a drive [chainage, m; null: all of it]: how many, sums of the products of the components of their poles (unit vectors '
  'to east, north and down), means of the spacings [m], persistences [m] and apertures [mm] given with how many were, and how many bring water. Null label: '
  'of no set.';
