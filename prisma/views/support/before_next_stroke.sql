-- What the record misses in the strokes that would lie beyond a zone's limit once the face has advanced by one more stroke: of each
-- run of strokes that follow one another, the shortfall by item. The strokes are those bored until now; where the limit is
-- shorter than a stroke, the next one itself will be beyond it. One row without item a zone that has a limit.
create or replace function before_next_stroke(project text, drive text, stroke_length_m numeric)
returns table (
  project_code text, drive_code text, zone text, limit_m numeric, stroke_length_m numeric, complete_to_m numeric, complete_to_chainage_m numeric,
  not_assessed_m numeric, is_limit_shorter boolean, item_code text, kind text, description text, unit text, from_chainage_m numeric,
  to_chainage_m numeric, required numeric, installed numeric, missing numeric, drive_id int, from_m numeric, to_m numeric, rests_on text)
language sql stable begin atomic
  with place as materialized (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m,
      coalesce(before_next_stroke.stroke_length_m, m.stroke_length_m) as stroke_length_m,
      coalesce((select max(b.to_m) from boring b where b.drive_id = d.id), 0.000) as face_m
    from drive d
    join project p on p.id = d.project_id
    left join lateral machine_at_face(d.id) m on true
    where p.code = before_next_stroke.project and d.code = before_next_stroke.drive
  ), stroke as materialized (
    select s.*, case when s.support_item_id is null then s.length_m else 0.000 end as not_assessed_m
    from place cross join lateral support_lacking_of(place.id) s where s.kind = 'stroke' and (s.missing > 0 or s.support_item_id is null)
  ), stretch as materialized ( -- by the revision of the limit that rules the place
    select l.zone, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.limit_mm * 0.001 as limit_m,
      greatest(least(place.face_m + coalesce(place.stroke_length_m, 0) - l.limit_mm * 0.001, place.face_m), 0) as due_to_m
    from place cross join lateral support_limit_along(place.id) l where l.limit_mm is not null and l.from_mm * 0.001 <= place.face_m
  ), zone as materialized ( -- told of each zone: the limit that rules nearest to the face
    select distinct on (l.zone) place.*, l.zone, l.limit_m, l.due_to_m, (
      select coalesce(sum(s.not_assessed_m), 0.000) from stroke s join stretch k on s.from_m >= k.from_m and s.from_m < least(k.to_m, k.due_to_m)
      where k.zone = l.zone and s.support_item_id is null) as not_assessed_m
    from place cross join stretch l order by l.zone, l.from_m desc
  ), short as (
    select z.zone, s.support_item_id, s.cell, s.from_m, s.to_m, s.required, s.installed, s.missing, s.rests_on,
      s.cell - row_number() over (partition by z.zone, s.support_item_id order by s.cell) as run
    from stretch z join stroke s on s.zone = z.zone::text and s.missing > 0 and s.from_m >= z.from_m and s.from_m < least(z.to_m, z.due_to_m)
  ), run as (
    select zone, support_item_id, min(from_m) as from_m, max(to_m) as to_m, sum(required) as required, sum(installed) as installed, sum(missing) as missing,
      string_agg(distinct rests_on, '; ') as rests_on
    from short group by zone, support_item_id, run
  ), listed as materialized ( -- once, not for each zone
    select z.zone, null::int as support_item_id, null::numeric as from_m, null::numeric as to_m, null::numeric as required, null::numeric as installed,
      null::numeric as missing, null as rests_on
    from zone z
    union all
    select * from run
    union all -- gaps in the spacing, by the pieces whose last allowed place will lie beyond the limit
    select z.zone, g.support_item_id, g.from_m, g.to_m, count(*) + 0.000, 0.000, count(*) + 0.000, g.rests_on
    from place cross join lateral support_gap_of(place.id) g
    cross join lateral unnest(g.places_mm) p(mm)
    join stretch z on z.zone = g.zone and p.mm * 0.001 >= z.from_m and p.mm * 0.001 < least(z.to_m, z.due_to_m)
    group by z.zone, g.support_item_id, g.from_m, g.to_m, g.rests_on, g.from_deg, g.pieces_per_row
  )
  select z.project_code, z.drive_code, z.zone::text, z.limit_m, z.stroke_length_m, z.due_to_m, z.start_chainage_m + z.direction * z.due_to_m,
    z.not_assessed_m, z.limit_m < z.stroke_length_m, i.code, i.kind::text, i.description, i.unit::text, z.start_chainage_m + z.direction * l.from_m,
    z.start_chainage_m + z.direction * l.to_m, l.required, l.installed, l.missing, z.id, l.from_m, l.to_m, l.rests_on
  from listed l
  join zone z on z.zone = l.zone
  left join support_item i on i.id = l.support_item_id;
end;

comment on function before_next_stroke(text, text, numeric) is
  'What the record misses in the strokes that would lie beyond a zone''s limit after one more stroke of the given length, null: of the machine''s [m]; by zone, item and run of strokes, in the item''s unit. complete_to_m: up to there the zone must be complete [m]; not_assessed_m: length of the strokes behind there without a class, or where a class considered there has no standard [m]; is_limit_shorter: the limit is shorter than a stroke; without item: a zone with a limit. stroke_length_m null: the machine gives none, and only what is overdue now is listed; rests_on: what demands it, in words. Decision support: it shows what the record holds, which may be late; the project''s designer, the responsible engineer on site and the local code decide, by inspection.';
