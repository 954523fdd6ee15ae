-- Up to which place what is kept of a drive stands, where it does not stand as a whole: cell is the number of the stroke that begins there, the first to be
-- judged again. No row: all of it stands, or nothing does.
-- What a stroke lacks follows from the rows that touch it, from the revisions in force there and, of pieces, from what is carried into it. So a stroke is judged
-- as before if it ends before the first place of
--   - every row that has come or gone since, by the history, and of every boring of a stroke that has such a row
--   - every place where another revision is in force than when it was kept (along).
-- A change of the drive, of what is demanded or of a limit ends all of it. So does a spacing that is demanded: a gap reaches over any number of strokes.
-- Judging begins at a checkpoint, where what is carried is kept, and where a stroke still begins: all strokes before it are then the same.
create or replace function judged_since(drive_id int) returns table (cell int, from_m numeric) language sql stable rows 1 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  with head as materialized (
    select k.drive_id, k.project_id, k.change, k.along
    from kept.judgement k join history.change c on c.project_id = k.project_id and c.number = k.change and c.hash = k.hash
    where k.drive_id = judged_since.drive_id and k.along is not null
  ), later as materialized (
    select c.tables from head cross join lateral (
      select l.tables, l.drives from history.change l where l.project_id = head.project_id and l.number > head.change offset 0) c
    where c.tables && array(select t.name from report_kept.judged_table() t where not t.of_drive)
      or head.drive_id = any (c.drives) and c.tables && array(select t.name from report_kept.judged_table() t where t.of_drive)
  ), part as materialized (
    select * from head
    where exists (select from later)
      and not exists (select from later l where l.tables && array(select t.name from report_kept.judged_table() t
        where t.name not in ('boring', 'support_installed', 'ground_interval', 'class_decision')))
      and not exists (select from standard_support_item i where i.project_id = head.project_id and i.spacing_m is not null)
      and not exists (select from design_section s join design_section_item i on i.design_section_id = s.id
        where s.drive_id = head.drive_id and i.spacing_m is not null)
  ), bored as materialized (
    select c.stroke_number, c.from_m from part cross join lateral (
      select b.drive_id, b.stroke_number, b.from_m from history.boring b where b.project_id = part.project_id and b.from_change > part.change
      union all
      select b.drive_id, b.stroke_number, b.from_m from history.boring b
      where b.project_id = part.project_id and b.to_change > part.change and b.to_change < 9223372036854775807
      offset 0) c
    where c.drive_id = part.drive_id
  ), changed as (
    select min(b.from_m) as m from bored b
    union all
    select min(o.from_m) from (select distinct stroke_number from bored) b cross join lateral (
      select s.from_m from boring s where s.drive_id = judged_since.drive_id and s.stroke_number = b.stroke_number offset 0) o
    union all
    select min(c.from_m) from part cross join lateral (
      select s.drive_id, s.from_m from history.support_installed s where s.project_id = part.project_id and s.from_change > part.change
      union all
      select s.drive_id, s.from_m from history.support_installed s
      where s.project_id = part.project_id and s.to_change > part.change and s.to_change < 9223372036854775807
      union all
      select g.drive_id, g.from_m from history.ground_interval g where g.project_id = part.project_id and g.from_change > part.change
      union all
      select g.drive_id, g.from_m from history.ground_interval g
      where g.project_id = part.project_id and g.to_change > part.change and g.to_change < 9223372036854775807
      union all
      select d.drive_id, d.from_m from history.class_decision d where d.project_id = part.project_id and d.from_change > part.change
      union all
      select d.drive_id, d.from_m from history.class_decision d
      where d.project_id = part.project_id and d.to_change > part.change and d.to_change < 9223372036854775807
      offset 0) c
    where c.drive_id = part.drive_id
    union all
    select min(case when n.from_mm = o.from_mm then least(n.to_mm, o.to_mm) else least(n.from_mm, o.from_mm) end) * 0.001
    from (select a.kind, a.id, a.from_mm, a.to_mm from part cross join lateral demand_along(part.drive_id) a) n
    full join (select a.* from part cross join lateral jsonb_to_recordset(part.along) a(kind text, id int, from_mm int, to_mm int)) o
      on o.kind = n.kind and o.id = n.id
    where (n.from_mm, n.to_mm) is distinct from (o.from_mm, o.to_mm)
  )
  select c.cell, c.from_m
  from part
  cross join lateral (
    select k.cell, k.from_m from kept.checkpoint k
    where k.drive_id = part.drive_id and k.support_item_id is null and k.from_m < (select min(m) from changed)
    order by k.from_m desc
    limit 20
  ) c
  where exists (select from boring b where b.drive_id = part.drive_id and b.from_m = c.from_m
    and not exists (select from boring o where o.drive_id = b.drive_id and o.stroke_number = b.stroke_number and o.from_m < b.from_m))
  order by c.from_m desc
  limit 1;
end;

comment on function judged_since(int) is
  'From which stroke on (cell), and place [driven m], a drive must be judged again where what is kept of it stands up to there; no row: all of it stands, or nothing.';
