-- The first of the stretches that are kept which is to be laid again. A stretch stands if it ends before the place up to which strokes do, and before the first
-- place that has become due since, or no longer is.
create or replace function cell_since(drive_id int) returns int language sql stable set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select max(b.n)::int
  from judged_since(cell_since.drive_id) s
  join kept.judgement k on k.drive_id = cell_since.drive_id
  cross join lateral (
    select min(least(due.mm, due.was_mm)) * 0.001 as m
    from support_limit_along(cell_since.drive_id) l
    cross join lateral (select greatest(l.from_mm, l.due_to_mm) as mm,
      greatest(l.from_mm, least(l.to_mm, (k.strokes[cardinality(k.strokes)] * 1000)::int - coalesce(l.limit_mm, 0))) as was_mm) due
    where due.mm <> due.was_mm
  ) due
  cross join lateral unnest(k.bounds) with ordinality b(m, n)
  where b.m <= least(s.from_m, due.m);
end;

comment on function cell_since(int) is 'The first of the stretches that are kept (kept.cell) which is to be laid again; null: all stand, or none.';
