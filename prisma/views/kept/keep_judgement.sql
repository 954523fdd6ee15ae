-- Assesses a drive in scope and caches the result. It runs with the rights of the owner of the tables and assesses by itself, so that nobody can
-- cache anything else. One at a time in the whole database: null if another is in progress. The number of the last change is read before the
-- assessment: if a change commits in the meantime, that number shows that the result has expired.
-- Returns the duration [ms]; 0: the cached assessment is valid; -1: the scope has no such drive.
create or replace function keep_judgement(p_drive_id int) returns int language plpgsql volatile security definer set search_path = pg_catalog,
  pg_temp set timezone = 'UTC' as $$
declare
  begun constant timestamptz := clock_timestamp();
  p int;
  n bigint;
  h bytea;
  ms int;
  ruled jsonb;
begin
  select project_id into p from public.drive where id = p_drive_id and project_id = public.scope_project();
  if not found then return -1; end if;
  if not pg_try_advisory_xact_lock(hashtext('drivebook.judgement'), 0) then return null; end if;
  lock table kept.judgement in row exclusive mode; -- new definitions wait for this, and then delete it
  -- if it is valid, later changes do not concern it and need not be examined again. One statement, so one state of the history.
  update kept.judgement k set change = c.number, hash = c.hash
    from (select number, hash from history.change where project_id = p and hash is not null order by number desc limit 1) c
    where k.drive_id = p_drive_id and report_kept.judgement_stands(p_drive_id);
  if found then return 0; end if;
  -- with where revisions rule, of the same state
  select number, hash, (select coalesce(jsonb_agg(a), '[]') from report.demand_along(p_drive_id) a) into n, h, ruled
    from history.change where project_id = p order by number desc limit 1;
  if h is null then raise exception 'a judgement is kept of a record that stands: its transaction has written to it'; end if;
  -- What stands up to a place is kept on, and what comes after it judged. One statement, so one state of the record.
  with since as materialized (
    select s.cell, s.from_m, report_since.cell_since(p_drive_id) as first, k.bounds,
      greatest(1, least(40, cardinality(k.strokes) / 100)) as step
    from report_since.judged_since(p_drive_id) s join kept.judgement k on k.drive_id = p_drive_id
  ), judged as materialized (
    select j.* from since s cross join lateral report_since.support_judged_of(p_drive_id, s.bounds[s.first:]) j
  ), run as materialized (
    select r.* from report_since.support_run_judged(p_drive_id) r
  ), length as materialized (
    select u.* from report_since.unsupported_judged(p_drive_id) u
  ), old_lacking as (
    delete from kept.lacking k using since s where k.drive_id = p_drive_id and k.cell >= s.cell
  ), new_lacking as (
    insert into kept.lacking select p_drive_id, p, j.kind, j.cell + s.cell - 1, j.from_m, j.to_m, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated,
      j.installed, j.missing, j.short_from_m, j.rests_on, j.demanded_from_m, j.demanded_to_m
    from judged j cross join since s where j.kind in ('stroke', 'gap') order by j.cell
  ), old_cell as (
    delete from kept.cell k using since s where k.drive_id = p_drive_id and k.cell >= s.first
  ), new_cell as (
    insert into kept.cell select p_drive_id, p, j.cell + s.first - 1, j.from_m, j.to_m, j.part, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated,
      j.installed, j.missing, j.rests_on
    from judged j cross join since s where j.kind = 'cell' order by j.cell
  ), old_run as (
    delete from kept.run k using since s
      where k.drive_id = p_drive_id and case when k.support_item_id is null then k.from_m else k.to_m end >= s.from_m
  ), new_run as (
    insert into kept.run select p_drive_id, p, r.* from run r cross join since s order by r.zone, r.from_m
  ), old_length as (
    delete from kept.unsupported k using since s where k.drive_id = p_drive_id
  ), new_length as (
    insert into kept.unsupported select p_drive_id, p, u.* from length u cross join since s
  ), old_checkpoint as (
    delete from kept.checkpoint k using since s where k.drive_id = p_drive_id and k.cell > s.cell
  ), new_checkpoint as ( -- of a short piece each stroke has one, of which few are kept
    insert into kept.checkpoint select p_drive_id, p, j.cell + s.cell - 1, j.from_m, j.support_item_id, j.zone, j.missing, j.tolerated
    from judged j cross join since s
    where j.kind = 'start' and ((j.cell + s.cell - 2) % s.step = 0 or (select count(*) from judged where kind = 'start' and support_item_id is null) > 100)
  )
  update kept.judgement k set change = n, hash = h, strokes = k.strokes[:s.cell - 1] || report.support_stroke_from(p_drive_id, s.from_m), along = null
    from since s where k.drive_id = p_drive_id;
  if found then
    ms := ceil(extract(epoch from clock_timestamp() - begun) * 1000);
    update kept.judgement set took_ms = ms, kept_at = clock_timestamp(), along = case when report_kept.judgement_stands(p_drive_id) then ruled end
      where drive_id = p_drive_id;
    return ms;
  end if;
  delete from kept.lacking where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.gap where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.cell where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.unsupported where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.run where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.checkpoint where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.judgement where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  with judged as materialized (
    select j.* from report.support_judged_of(p_drive_id, null) j where j.kind in ('stroke', 'gap', 'start')
  ), begins as (
    insert into kept.checkpoint
      select p_drive_id, p, j.cell, j.from_m, j.support_item_id, j.zone, j.missing, j.tolerated from judged j where j.kind = 'start'
  )
  insert into kept.lacking select p_drive_id, p, j.kind, j.cell, j.from_m, j.to_m, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated, j.installed,
    j.missing, j.short_from_m, j.rests_on, j.demanded_from_m, j.demanded_to_m from judged j where j.kind in ('stroke', 'gap') order by j.cell;
  insert into kept.gap select p_drive_id, p, g.* from report.support_gap_of(p_drive_id) g order by g.from_m;
  -- the rest is computed from what has just been cached
  insert into kept.judgement select p_drive_id, p, n, h, report.support_stroke(p_drive_id), clock_timestamp(), 0,
    report.interval_bounds(d.direction * d.start_chainage_m, 0, report.drive_length(d.start_chainage_m, d.end_chainage_m), 10) from public.drive d
      where d.id = p_drive_id;
  insert into kept.cell select p_drive_id, p, c.* from kept.judgement k cross join lateral report_kept.support_cell_laid(p_drive_id, k.bounds) c
    where k.drive_id = p_drive_id order by c.cell;
  insert into kept.unsupported select p_drive_id, p, u.* from report_kept.unsupported_judged(p_drive_id) u;
  insert into kept.run select p_drive_id, p, r.* from report_kept.support_run_judged(p_drive_id) r order by r.zone, r.from_m;
  ms := ceil(extract(epoch from clock_timestamp() - begun) * 1000);
  -- of a record that changed meanwhile it is not known up to which place it stands
  update kept.judgement set took_ms = ms, kept_at = clock_timestamp(), along = case when report_kept.judgement_stands(p_drive_id) then ruled end
    where drive_id = p_drive_id;
  return ms;
end $$;

revoke execute on function keep_judgement(int) from public;
grant execute on function keep_judgement(int) to drivebook_app;

comment on function keep_judgement(int) is
  'Assesses the support of a drive and caches the result, unless the cached one is valid: duration [ms], 0: it is valid, -1: the scope has no such drive, '
  'null: another drive is being assessed.';
