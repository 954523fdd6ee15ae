-- Unsupported length behind the face, one row per zone. A stroke is complete in a zone when each item demanded of it there is
-- installed, within the tolerance, and its whole length is assessed. The unsupported length runs from the face back to the
-- nearest complete stroke. The limit is exceeded when any incomplete stroke begins farther behind the face, even behind
-- complete ones: it is still a hole in the support.
create or replace function unsupported_judged(drive_id int)
returns table (
  zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric,
  supported_to_m numeric, supported_to_chainage_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric,
  overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric, state text, rests_on text)
language sql stable begin atomic
  with place as materialized (
    select d.id, d.direction, d.start_chainage_m, support_stroke(d.id) as bounds from drive d where d.id = unsupported_judged.drive_id
  ), face as (
    select place.bounds[cardinality(place.bounds)] as m, cardinality(place.bounds) - 1 as strokes from place
  ), found as materialized (
    select s.cell, s.zone, s.from_m, s.to_m, sum(s.length_m) filter (where s.support_item_id is null) as not_assessed_m,
      min(greatest(s.from_m, s.short_from_m)) as short_from_m, string_agg(s.rests_on, '; ' order by s.rests_on) as rests_on
    from place cross join lateral support_lacking_of(place.id) s
    group by s.cell, s.zone, s.from_m, s.to_m
  ), stretch as materialized (
    select l.zone, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.limit_mm * 0.001 as limit_m, face.m - l.limit_mm * 0.001 as due_to_m
    from place cross join face cross join lateral support_limit_along(place.id) l
  ), zone as materialized ( -- with the limit in force at the face
    select s.zone, max(s.limit_m) filter (where face.m >= s.from_m and face.m < s.to_m) as limit_m, bool_or(s.limit_m is not null) as is_limited
    from stretch s cross join face group by s.zone
  ), incomplete as materialized ( -- one row per zone and stroke that lacks something there, or is not assessed along its whole length; all others are complete
    select zone, cell, from_m, to_m, bool_or(is_short) as is_short, sum(not_assessed_m) as not_assessed_m, min(short_from_m) as short_from_m,
      max(rests_on) as rests_on
    from (
      select f.zone, f.cell, f.from_m, f.to_m, true as is_short, 0.000 as not_assessed_m, f.short_from_m, f.rests_on from found f where f.zone is not null
      union all
      select z.zone, f.cell, f.from_m, f.to_m, false, f.not_assessed_m, null, null from found f cross join zone z where f.zone is null and f.not_assessed_m > 0
    ) k
    group by zone, cell, from_m, to_m
  ), behind_face as ( -- number of consecutive strokes up to the face that are not complete
    select n.zone, count(*)::int as strokes
    from (select i.zone, i.cell, row_number() over (partition by i.zone order by i.cell desc) as nth from incomplete i) n cross join face
    where n.cell = face.strokes - n.nth + 1
    group by n.zone
  ), judged as (
    select z.zone, k.from_m, k.to_m, k.is_short, k.not_assessed_m, k.from_m < z.due_to_m as is_overdue, k.short_from_m < z.due_to_m as is_short_overdue,
      least(k.to_m, z.due_to_m) - k.from_m as overdue_m, k.rests_on
    from incomplete k join stretch z on z.zone = k.zone and k.from_m >= z.from_m and k.from_m < z.to_m
  ), sum as (
    select j.zone, min(j.from_m) as first_m,
      sum(j.to_m - j.from_m) filter (where j.is_short) as incomplete_m, sum(j.overdue_m) filter (where j.is_short_overdue) as overdue_m,
      sum(j.not_assessed_m) as not_assessed_m,
      sum(least(j.not_assessed_m, j.overdue_m)) filter (where j.is_overdue) as overdue_not_assessed_m,
      string_agg(distinct j.rests_on, '; ') as rests_on
    from judged j group by j.zone
  ), supported as (
    select z.zone, place.bounds[face.strokes - coalesce(t.strokes, 0) + 1] as to_m from place cross join face cross join zone z left join behind_face t
      on t.zone = z.zone
  )
  select z.zone::text, face.m, chainage_of_driven(place.start_chainage_m, place.direction, face.m), z.limit_m,
    face.m - p.to_m, p.to_m, chainage_of_driven(place.start_chainage_m, place.direction, p.to_m),
    coalesce(s.first_m, face.m), chainage_of_driven(place.start_chainage_m, place.direction, coalesce(s.first_m, face.m)), coalesce(s.incomplete_m, 0.000),
    case when z.is_limited then coalesce(s.overdue_m, 0.000) end, coalesce(s.not_assessed_m, 0.000),
    case when z.is_limited then coalesce(s.overdue_not_assessed_m, 0.000) end,
    case
      when not z.is_limited then 'no_limit'
      when s.overdue_m > 0 then 'exceeded'
      when s.overdue_not_assessed_m > 0 then 'not_assessed'
      else 'within'
    end,
    s.rests_on
  from place
  cross join face
  cross join zone z
  join supported p on p.zone = z.zone
  left join sum s on s.zone = z.zone;
end;

comment on function unsupported_judged(int) is
  'Unsupported length behind the face of a drive, one row per zone: the rows of unsupported_length, from the shortfall of its strokes. [m]';
