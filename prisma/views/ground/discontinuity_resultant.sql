-- One row per set and its mean pole: the length of the sum of the set's poles in a part of the drive, each turned to the side of
-- the mean. The means are passed in, one per position of the arrays; the part is as in discontinuity_sets_between.
create or replace function discontinuity_resultant(
  project text, drive text, from_chainage numeric, to_chainage numeric, set_labels text[], mean_east float8[], mean_north float8[], mean_down float8[])
returns table (set_label text, discontinuity_count int, resultant float8, drive_id int)
language sql stable begin atomic
  with place as materialized ( -- with ends computed beforehand, the index is used under row-level security too
    select d.id, least(a, b) as low_m,
      range_end(a, b, drive_length(d.start_chainage_m, d.end_chainage_m)) as high_m
    from drive d join project p on p.id = d.project_id
    cross join lateral (select driven_of_chainage(d.start_chainage_m, d.direction, coalesce(from_chainage, d.start_chainage_m)) as a,
      driven_of_chainage(d.start_chainage_m, d.direction, coalesce(to_chainage, d.end_chainage_m)) as b) asked
    where p.code = project and d.code = drive
  )
  select mean.set_label, count(*)::int,
    sqrt(sum((side.way * t.pole_east)::numeric)::float8 ^ 2 + sum((side.way * t.pole_north)::numeric)::float8 ^ 2
      + sum((side.way * t.pole_down)::numeric)::float8 ^ 2), place.id
  from place
  cross join lateral (
    select * from discontinuity where drive_id = place.id and at_m >= place.low_m and at_m < place.high_m offset 0
  ) t
  join unnest(set_labels, mean_east, mean_north, mean_down) as mean (set_label, east, north, down) on mean.set_label = t.set_label
  cross join lateral (
    select case when t.pole_east * mean.east + t.pole_north * mean.north + t.pole_down * mean.down < 0 then -1 else 1 end as way
  ) side
  group by mean.set_label, place.id;
end;

comment on function discontinuity_resultant(text, text, numeric, numeric, text[], float8[], float8[], float8[]) is
  'Length of the sum of the poles of each set, turned to the side of its mean pole, in a part of a drive; between 0 and the count.';
