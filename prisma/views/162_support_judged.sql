-- Required against installed, judged stroke by stroke: support that is over in one stroke does not make up for what lacks in another.
-- Strokes are those of support_stroke, whole, whether due yet or not. Rows by kind:
--   stroke: a stroke, item and zone by what is demanded per metre. missing is what the stroke lacks: of pieces whole ones, by missing_pieces; else all of
--     it, where it is more than is tolerated. Without item: length of the stroke that is not assessed.
--   gap: a stroke, item and zone that a gap in the spacing touches; missing: the pieces of it whose last allowed place lies in the stroke.
--   cell: a stretch between two of the bounds, part, item and zone, as support_standing has them, for the bounds that were asked. missing is
--     the local shortfall there: of gaps by their places, of strokes spread over them, pieces evenly. Cells sum to the same over any bounds.
-- What is demanded and missing by gaps is no part of what a stroke lacks per metre.
create or replace function support_judged(drive_id int, bounds numeric[])
returns table (
  kind text, cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text)
language sql stable begin atomic
  with stroke as materialized (
    select support_stroke(support_judged.drive_id) as bounds
  ), mm as materialized ( -- halving needs elements of one width: whole millimetres
    select array(select (m * 1000)::int from unnest((select bounds from stroke)) m order by m) as stroke,
      array(select (m * 1000)::int from unnest(support_judged.bounds) m order by m) as asked
  ), span as materialized ( -- whole strokes from the start of the drive on, as what lacks of a piece is carried from stroke to stroke
    select min(m) as low_m,
      coalesce(min(m) filter (where m >= (select max(b) from unnest(support_judged.bounds) b)), max(m)) as high_m,
      (select min(b) from unnest(support_judged.bounds) b) as asked_low_m, (select max(b) from unnest(support_judged.bounds) b) as asked_high_m
    from unnest((select bounds from stroke)) m
  ), fine as materialized (
    select array(
      select m from unnest((select bounds from stroke)) m where m >= (select low_m from span) and m <= (select high_m from span)
      union select m from unnest(support_judged.bounds) m order by 1) as bounds
  ), standing as materialized (
    select s.*, case when s.from_m < (select high_m from span) then width_bucket((s.from_m * 1000)::int, (select stroke from mm)) end as stroke,
      case when s.from_m >= (select asked_low_m from span) and s.from_m < (select asked_high_m from span) then width_bucket((s.from_m * 1000)::int, (select asked from mm)) end as asked
    from fine cross join lateral support_standing(support_judged.drive_id, fine.bounds) s -- a sub-select as argument would keep it from being inlined
  ), by_stroke as materialized (
    select s.stroke, s.support_item_id, s.zone, sum(s.required) as required, sum(s.installed) as installed, sum(s.tolerated) as tolerated, sum(s.length_m) as length_m,
      sum(s.gap_missing) as gap_missing, min(s.demanded_from_m) as demanded_from_m, max(s.demanded_to_m) as demanded_to_m, string_agg(distinct s.rests_on, '; ') as rests_on
    from standing s
    where s.stroke is not null and (s.part in ('due', 'not_yet_due') or s.support_item_id is null)
    group by s.stroke, s.support_item_id, s.zone
  ), pieces as (
    select s.support_item_id, s.zone, array_agg(s.stroke order by s.stroke) as strokes, array_agg(s.required - s.installed - s.gap_missing order by s.stroke) as lacks,
      array_agg(s.tolerated order by s.stroke) as tolerated
    from by_stroke s join support_item i on i.id = s.support_item_id
    where i.unit = 'nr' and s.demanded_from_m is not null
    group by s.support_item_id, s.zone
    having bool_or(s.required - s.installed - s.gap_missing > 0)
  ), lacking as materialized (
    select p.support_item_id, p.zone, m.cell as stroke, m.missing + 0.000 as missing, true as is_counted
    from pieces p cross join lateral missing_pieces(p.strokes, p.lacks, p.tolerated) m where m.missing > 0
    union all
    select s.support_item_id, s.zone, s.stroke, s.required - s.installed, false
    from by_stroke s join support_item i on i.id = s.support_item_id where i.unit <> 'nr' and s.required - s.installed > s.tolerated
  ), judged as (
    select s.*, b.from_m, b.to_m, coalesce(l.missing, 0.000) as missing, l.is_counted
    from by_stroke s
    join (select number::int as stroke, m as from_m, lead(m) over (order by number) as to_m from unnest((select bounds from stroke)) with ordinality t(m, number)) b
      on b.stroke = s.stroke
    left join lacking l on l.stroke = s.stroke and l.support_item_id = s.support_item_id and l.zone = s.zone
  ), gap as materialized (
    select g.*, row_number() over () as id from support_gap_of(support_judged.drive_id) g
  ), due as materialized (
    select l.zone::text as zone, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.due_to_mm * 0.001 as due_to_m from support_limit_along(support_judged.drive_id) l
  ), spread as ( -- of what strokes lack, what falls into each stretch and part
    select width_bucket((at.m * 1000)::int, (select asked from mm)) as asked, case when at.m < d.due_to_m then 'due' else 'not_yet_due' end as part, j.support_item_id, j.zone, 1.000 as missing
    from judged j
    cross join lateral generate_series(1, j.missing::int) n
    cross join lateral (select trunc(j.demanded_from_m + (2 * n - 1) * (j.demanded_to_m - j.demanded_from_m) / (2 * j.missing), 3) as m) at
    join due d on d.zone = j.zone and at.m >= d.from_m and at.m < d.to_m
    where j.is_counted and support_judged.bounds is not null and at.m >= (select asked_low_m from span) and at.m < (select asked_high_m from span)
    union all
    select t.asked, t.part, j.support_item_id, j.zone, share.high - share.low
    from judged j
    cross join lateral (
      select b.asked, d.part, greatest(j.demanded_from_m, b.from_m, d.from_m) as from_m, least(j.demanded_to_m, b.to_m, d.to_m) as to_m
      from (
        select n as asked, ((select asked from mm))[n] * 0.001 as from_m, ((select asked from mm))[n + 1] * 0.001 as to_m
        from generate_series(greatest(width_bucket((j.demanded_from_m * 1000)::int, (select asked from mm)), 1),
          least(width_bucket((j.demanded_to_m * 1000)::int - 1, (select asked from mm)), cardinality((select asked from mm)) - 1)) n
      ) b
      cross join (
        select zone, 'due' as part, from_m, least(to_m, due_to_m) as to_m from due
        union all
        select zone, 'not_yet_due', greatest(from_m, due_to_m), to_m from due
      ) d
      where d.zone = j.zone
    ) t
    cross join lateral (
      select case when t.from_m = j.demanded_from_m then 0 else round(j.missing * (t.from_m - j.demanded_from_m) / (j.demanded_to_m - j.demanded_from_m), 3) end as low,
        case when t.to_m = j.demanded_to_m then j.missing else round(j.missing * (t.to_m - j.demanded_from_m) / (j.demanded_to_m - j.demanded_from_m), 3) end as high
    ) share
    where not j.is_counted and support_judged.bounds is not null and t.to_m > t.from_m
  ), cell as (
    select asked, part, support_item_id, zone, sum(length_m) as length_m, sum(required) as required, sum(tolerated) as tolerated, sum(installed) as installed,
      sum(missing) as missing, string_agg(distinct rests_on, '; ') as rests_on
    from (
      select s.asked, s.part, s.support_item_id, s.zone, s.length_m, s.required, s.tolerated, s.installed, s.gap_missing as missing, s.rests_on
      from standing s where s.asked is not null
      union all
      select s.asked, s.part, s.support_item_id, s.zone, 0.000, 0.000, 0.000, 0.000, s.missing, null from spread s
    ) one
    group by asked, part, support_item_id, zone
  )
  select 'stroke', j.stroke, j.from_m, j.to_m, null, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated, j.installed, j.missing, j.from_m, j.rests_on
  from judged j
  union all
  select 'gap', k.stroke, ((select stroke from mm))[k.stroke] * 0.001, ((select stroke from mm))[k.stroke + 1] * 0.001, null, g.support_item_id, g.zone::text, 0.000, 0.000,
    0.000, 0.000, (select count(*) from unnest(g.places_mm) p where p >= ((select stroke from mm))[k.stroke] and p < ((select stroke from mm))[k.stroke + 1]) + 0.000,
    g.places_mm[1] * 0.001, g.rests_on
  from gap g
  cross join lateral generate_series(width_bucket(floor(g.from_m * 1000)::int, (select stroke from mm)),
    least(width_bucket(greatest(ceil(g.to_m * 1000)::int - 1, floor(g.from_m * 1000)::int), (select stroke from mm)), cardinality((select stroke from mm)) - 1)) k(stroke)
  union all
  select 'cell', c.asked, ((select asked from mm))[c.asked] * 0.001, ((select asked from mm))[c.asked + 1] * 0.001, c.part, c.support_item_id, c.zone, c.length_m, c.required, c.tolerated, c.installed,
    c.missing, null, c.rests_on
  from cell c;
end;

comment on function support_judged(int, numeric[]) is
  'Required against installed support of a drive, judged stroke by stroke, and what follows between rising bounds (driven metres), null: none. Rows by kind: stroke, gap, cell; missing: local shortfall, whatever the limit, in the item''s unit; short_from_m: the place from which a stroke counts as short [m]; rests_on: by what it is demanded.';
