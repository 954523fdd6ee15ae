-- Plan against actual, one row per production day from the first to the last of programme and record. A point gives the planned position of the
-- face at the end of its day; between points the plan advances evenly from day to day. The actual position is that of day_advance, 0 before the
-- record's first day. Days ahead: from the day to the one on which the plan reaches the actual position; if the plan is constant there, to the
-- nearest of those days; before its first day, the plan is at its first point.
create or replace function programme_progress(project text, drive text, programme text)
returns table (
  production_day date, planned_m numeric, planned_chainage_m numeric, actual_m numeric, actual_chainage_m numeric, ahead_m numeric, ahead_days numeric,
  drive_id int)
language sql stable begin atomic
  with place as (
    select d.id, d.start_chainage_m, d.direction from drive d join project p on p.id = d.project_id
    where p.code = programme_progress.project and d.code = programme_progress.drive
  ), point as materialized (
    select r.planned_day, r.planned_m, lead(r.planned_day) over (order by r.planned_day) as next_day, lead(r.planned_m) over (order by r.planned_day) as next_m
    from place join programme_point r on r.drive_id = place.id and r.programme = programme_progress.programme
  ), ends as (
    select min(planned_day) as first_day, max(planned_day) as last_day, min(planned_m) as first_m, max(planned_m) as last_m from point
  ), record as materialized (
    select a.production_day, coalesce(max(driven_of_chainage(place.start_chainage_m, place.direction, a.face_chainage_m)) over (order by a.production_day),
      0.000) as actual_m
    from place join day_advance a on a.drive_id = place.id
  ), plan as materialized (
    select point.planned_day + i as production_day,
      round(point.planned_m + coalesce((point.next_m - point.planned_m) * i / (point.next_day - point.planned_day), 0), 3) as planned_m
    from point cross join lateral generate_series(0, coalesce(point.next_day - point.planned_day - 1, 0)) i
  ), day as materialized (
    select span.first_day + i as production_day,
      coalesce(record.actual_m, case when span.first_day + i < span.record_day then 0.000 end) as actual_m
    from (
      select least(ends.first_day, min(record.production_day)) as first_day, greatest(ends.last_day, max(record.production_day)) as last_day,
        min(record.production_day) as record_day
      from ends left join record on true where ends.first_day is not null group by ends.first_day, ends.last_day
    ) span
    cross join lateral generate_series(0, span.last_day - span.first_day) i
    left join record on record.production_day = span.first_day + i
  ), reach as materialized ( -- days from the first point until the plan reaches a position, and until it leaves it
    select actual.m as actual_m,
      min(p.planned_day - ends.first_day + (actual.m - p.planned_m) * (p.next_day - p.planned_day) / (p.next_m - p.planned_m))
        filter (where p.planned_m < actual.m) as from_days,
      max(p.planned_day - ends.first_day + (actual.m - p.planned_m) * (p.next_day - p.planned_day) / (p.next_m - p.planned_m))
        filter (where actual.m < p.next_m) as to_days
    from (select distinct actual_m as m from day) actual
    join point p on p.planned_m <= actual.m and p.next_m >= actual.m and p.next_m > p.planned_m
    cross join ends
    group by actual.m
  )
  select day.production_day, plan.planned_m, chainage_of_driven(place.start_chainage_m, place.direction, plan.planned_m), day.actual_m,
    chainage_of_driven(place.start_chainage_m, place.direction, day.actual_m), day.actual_m - plan.planned_m,
    case when day.actual_m between ends.first_m and ends.last_m then
      round(least(greatest(0, reach.from_days - passed.days), coalesce(reach.to_days, ends.last_day - ends.first_day) - passed.days), 2)
    end, place.id
  from day
  cross join place
  cross join ends
  cross join lateral (select day.production_day - ends.first_day as days) passed
  left join plan on plan.production_day = day.production_day
  left join reach on reach.actual_m = day.actual_m;
end;

comment on function programme_progress(text, text, text) is
  'Plan against actual, one row per production day. planned_m: planned face position at the end of the day, null before the first and after the last '
  'point [m]; actual_m: actual position, 0 before the record''s first day, null after its last [m]; ahead_m: actual less planned, negative behind [m]; '
  'ahead_days: by how many days the actual position is ahead of its planned day, negative behind, null where the programme does not reach it [d].';
