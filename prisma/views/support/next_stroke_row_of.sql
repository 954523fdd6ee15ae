-- What is missing from the record for the strokes that would lie beyond a zone's limit after the face has advanced by one more stroke:
-- for each run of consecutive strokes, the shortfall by item. The strokes are those bored until now; if the limit is shorter than a
-- stroke, the next one itself will be beyond it. One row without item per zone that has a limit.
-- Names and chainages of the rows are looked up by next_stroke_of, as the words hold them already.
-- A run that lies entirely beyond the limit is taken as assessed (support_run_of), including its text; for one that the limit divides,
-- the strokes beyond it are summed.
create or replace function next_stroke_row_of(drive_id int, stroke_length_m numeric)
returns table (
  zone text, limit_m numeric, stroke_length_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, not_assessed_m numeric, is_limit_shorter boolean,
  support_item_id int, item_code text, required numeric, installed numeric, missing numeric, from_m numeric, to_m numeric, rests_on text, words text)
language sql stable begin atomic
  with place as materialized (
    select d.id, d.direction, d.start_chainage_m, coalesce(next_stroke_row_of.stroke_length_m, m.stroke_length_m) as stroke_length_m,
      coalesce((select max(b.to_m) from boring b where b.drive_id = d.id), 0.000) as face_m
    from drive d
    left join lateral machine_at_face(d.id) m on true
    where d.id = next_stroke_row_of.drive_id
  ), run as materialized (
    select r.* from place cross join lateral support_run_of(place.id) r
  ), stretch as materialized ( -- by the revision of the limit that governs the place; beyond it are the strokes that begin before end_m
    select l.zone, l.from_mm * 0.001 as from_m, l.limit_mm * 0.001 as limit_m, due.to_m as due_to_m, least(l.to_mm * 0.001, due.to_m) as end_m
    from place cross join lateral support_limit_along(place.id) l
    cross join lateral (select greatest(least(place.face_m + coalesce(place.stroke_length_m, 0) - l.limit_mm * 0.001, place.face_m), 0) as to_m) due
    where l.limit_mm is not null and l.from_mm * 0.001 <= place.face_m
  ), bare as materialized (
    select r.from_m, r.not_assessed_m from run r where r.support_item_id is null
  ), zone as materialized ( -- for each zone the limit in force nearest to the face
    select distinct on (l.zone) place.*, l.zone, l.limit_m, l.due_to_m,
      chainage_of_driven(place.start_chainage_m, place.direction, l.due_to_m) as due_to_chainage_m, (
      select coalesce(sum(b.not_assessed_m), 0.000) from bare b join stretch k on b.from_m >= k.from_m and b.from_m < k.end_m
        where k.zone = l.zone) as not_assessed_m,
      l.limit_m < place.stroke_length_m as is_limit_shorter
    from place cross join stretch l order by l.zone, l.from_m desc
  ), due as materialized ( -- the stretches, each with the figures of its zone
    select z.*, k.from_m, k.end_m from stretch k join zone z on z.zone = k.zone
  ), item as materialized (
    select i.id, i.code, i.kind::text, i.description, i.unit::text from drive d join support_item i on i.project_id = d.project_id
      where d.id = next_stroke_row_of.drive_id
  ), cut as ( -- for runs divided by a limit, the strokes beyond it
    select r.zone, r.support_item_id, s.*, s.cell - row_number() over (partition by r.zone, r.support_item_id order by s.cell) as run
    from run r
    join stretch k on k.zone = r.zone and r.from_m < k.end_m and r.last_from_m >= k.from_m
    cross join lateral unnest(r.cells, r.froms_m, r.tos_m, r.all_required, r.all_installed, r.all_missing, r.all_rest_on)
      s(cell, from_m, to_m, required, installed, missing, rests_on)
    where r.cells is not null and not (r.from_m >= k.from_m and r.last_from_m < k.end_m) and s.from_m >= k.from_m and s.from_m < k.end_m
  ), part as (
    select c.zone, c.support_item_id, min(c.from_m) as from_m, max(c.to_m) as to_m, sum(c.required) as required, sum(c.installed) as installed,
      sum(c.missing) as missing, string_agg(distinct c.rests_on, '; ') as rests_on
    from cut c group by c.zone, c.support_item_id, c.run
    union all -- gaps in the spacing, by the pieces whose last allowed place will lie beyond the limit
    select k.zone, g.support_item_id, g.from_m, g.to_m, count(*) + 0.000, 0.000, count(*) + 0.000, g.rests_on
    from place cross join lateral support_gap_of(place.id) g
    cross join lateral unnest(g.places_mm) p(mm)
    join stretch k on k.zone = g.zone and p.mm * 0.001 >= k.from_m and p.mm * 0.001 < k.end_m
    group by k.zone, g.support_item_id, g.from_m, g.to_m, g.rests_on, g.from_deg, g.pieces_per_row
  )
  select z.zone, z.limit_m, z.stroke_length_m, z.due_to_m, z.due_to_chainage_m, z.not_assessed_m, z.is_limit_shorter,
    null::int, null::text, null::numeric, null::numeric, null::numeric, null::numeric, null::numeric, null::text, null::text
  from zone z
  union all
  select k.zone, k.limit_m, k.stroke_length_m, k.due_to_m, k.due_to_chainage_m, k.not_assessed_m, k.is_limit_shorter,
    i.id, i.code, r.required, r.installed, r.missing, r.from_m, r.to_m, r.rests_on, r.words
  from run r
  join due k on k.zone = r.zone and r.from_m >= k.from_m and r.last_from_m < k.end_m
  join item i on i.id = r.support_item_id
  union all
  select z.zone, z.limit_m, z.stroke_length_m, z.due_to_m, z.due_to_chainage_m, z.not_assessed_m, z.is_limit_shorter,
    i.id, i.code, l.required, l.installed, l.missing, l.from_m, l.to_m, l.rests_on, w.words
  from part l
  join zone z on z.zone = l.zone
  join item i on i.id = l.support_item_id
  cross join lateral missing_run_words(l.zone, i.code, i.kind, i.description, i.unit, chainage_of_driven(z.start_chainage_m, z.direction, l.from_m),
    chainage_of_driven(z.start_chainage_m, z.direction, l.to_m), l.required, l.installed, l.missing, l.rests_on) w;
end;

comment on function next_stroke_row_of(int, numeric) is
  'What is listed by before_next_stroke, by the id of a drive, without the names of items; words: the row as the service answers it (JSON). In metres and the '
  'item''s unit. Decision support; see there.';
