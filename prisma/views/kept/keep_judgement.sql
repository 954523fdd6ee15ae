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
  select number, hash into n, h from history.change where project_id = p order by number desc limit 1;
  if h is null then raise exception 'a judgement is kept of a record that stands: its transaction has written to it'; end if;
  delete from kept.lacking where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.gap where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.cell where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.unsupported where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.run where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  delete from kept.judgement where project_id = p and (drive_id = p_drive_id or drive_id not in (select id from public.drive where project_id = p));
  insert into kept.lacking select p_drive_id, p, l.* from report.support_lacking_of(p_drive_id) l order by l.cell;
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
  update kept.judgement set took_ms = ms, kept_at = clock_timestamp() where drive_id = p_drive_id;
  return ms;
end $$;

revoke execute on function keep_judgement(int) from public;
grant execute on function keep_judgement(int) to drivebook_app;

comment on function keep_judgement(int) is
  'Assesses the support of a drive and caches the result, unless the cached one is valid: duration [ms], 0: it is valid, -1: the scope has no such drive, '
  'null: another drive is being assessed.';
