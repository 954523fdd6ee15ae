-- Runs of consecutive strokes that lack the same item in the same zone, whatever the limit; and, without item, each stroke that is not assessed along
-- its whole length. A run of several strokes also lists them as arrays, by place, as a limit may lie within it. words: the run in the form of the
-- answer, see missing_run_words.
create or replace function support_run_judged(drive_id int)
returns table (
  zone text, support_item_id int, from_m numeric, to_m numeric, last_from_m numeric, required numeric, installed numeric, missing numeric, rests_on text,
  not_assessed_m numeric, cells int[], froms_m numeric[], tos_m numeric[], all_required numeric[], all_installed numeric[], all_missing numeric[],
    all_rest_on text[], words text)
language sql stable begin atomic
  with place as materialized (
    select d.id, d.direction, d.start_chainage_m from drive d where d.id = support_run_judged.drive_id
  ), stroke as materialized (
    select s.* from place cross join lateral run_stroke_of(place.id) s where s.kind = 'stroke' and (s.missing > 0 or s.support_item_id is null)
  ), short as (
    select s.*, s.cell - row_number() over (partition by s.zone, s.support_item_id order by s.cell) as run from stroke s where s.support_item_id is not null
  ), run as materialized (
    select s.zone, s.support_item_id, min(s.from_m) as from_m, max(s.to_m) as to_m, max(s.from_m) as last_from_m, sum(s.required) as required,
      sum(s.installed) as installed,
      sum(s.missing) as missing, string_agg(distinct s.rests_on, '; ') as rests_on, count(*) > 1 as is_long, array_agg(s.cell) as cells,
        array_agg(s.from_m) as froms_m,
      array_agg(s.to_m) as tos_m, array_agg(s.required) as all_required, array_agg(s.installed) as all_installed, array_agg(s.missing) as all_missing,
      array_agg(s.rests_on) as all_rest_on
    from short s group by s.zone, s.support_item_id, s.run
  )
  select r.zone, r.support_item_id, r.from_m, r.to_m, r.last_from_m, r.required, r.installed, r.missing, r.rests_on, null::numeric,
    case when r.is_long then r.cells end, case when r.is_long then r.froms_m end, case when r.is_long then r.tos_m end, case
      when r.is_long then r.all_required end,
    case when r.is_long then r.all_installed end, case when r.is_long then r.all_missing end, case when r.is_long then r.all_rest_on end, w.words
  from run r
  cross join place
  join support_item i on i.id = r.support_item_id
  cross join lateral missing_run_words(r.zone, i.code, i.kind::text, i.description, i.unit::text,
    chainage_of_driven(place.start_chainage_m, place.direction, r.from_m),
    chainage_of_driven(place.start_chainage_m, place.direction, r.to_m), r.required, r.installed, r.missing, r.rests_on) w
  union all
  select null, null, s.from_m, s.to_m, s.from_m, null, null, null, null, s.length_m, null, null, null, null, null, null, null, null
  from stroke s where s.support_item_id is null;
end;

comment on function support_run_judged(int) is
  'Runs of strokes that lack the same item in the same zone, whatever the limit, and strokes without a class or a standard (without item; not_assessed_m: of '
  'what length [m]). Driven metres; the rest in the item''s unit; words: as it is answered. Decision support; see before_next_stroke.';
