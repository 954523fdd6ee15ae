-- Measures the shifts of a drive in scope that have no valid cached sums, and caches theirs. It runs with the rights of the owner of the tables and
-- measures by itself, so that nobody can cache anything else; one at a time per drive. Nothing is done if fewer than worth_shifts shifts are missing.
-- A single statement writes, so everything is from one state of the record: that after the last change it sees, as the changes of a project commit
-- in numerical order.
-- Returns whether something was cached; null: another session is doing it, the scope has no such drive, or its transaction has written to the record.
create or replace function keep_draft_sums(p_drive_id int, worth_shifts int) returns boolean
language plpgsql volatile security definer set search_path = pg_catalog, pg_temp set timezone = 'UTC' as $$
declare
  p int;
begin
  select project_id into p from public.drive where id = p_drive_id and project_id = public.scope_project();
  if not found or not pg_try_advisory_xact_lock(hashtext('drivebook.draft_sums'), p_drive_id) then return null; end if;
  lock table kept.draft in row exclusive mode; -- new definitions wait for this, and then delete it
  perform from history.change where project_id = p and hash is null;
  if found then return null; end if;
  if worth_shifts > (select count(*) from public.shift where drive_id = p_drive_id) then return false; end if;
  if not (select not k.is_kept or cardinality(k.dates) >= worth_shifts from report.draft_kept_of(p_drive_id, 'infinity') k) then return false; end if;
  with kept as materialized (
    select k.* from report.draft_kept_of(p_drive_id, 'infinity') k
  ), unit as materialized (
    select u.* from kept k cross join lateral report.draft_unit_of(p_drive_id, 'infinity', k.is_kept, k.shift_ids, k.dates, k.names) u where u.own_key = ''
  ), other as materialized (
    select o.day, o.name from kept k cross join lateral unnest(k.dates, k.names) o(day, name)
  ), silence as materialized (
    select shift_ids from report.paid_by_silence_of(p_drive_id)
  ), removed_sum as (
    delete from kept.draft_sum s where s.drive_id = p_drive_id and (not (select k.is_kept from kept k)
      or (s.shift_date, s.shift_name) in (select o.day, o.name from other o))
  ), removed_shift as (
    delete from kept.draft_shift u where u.drive_id = p_drive_id and u.shift_id not in (select unnest(k.shift_ids) from kept k)
  ), added_sum as (
    insert into kept.draft_sum (drive_id, project_id, shift_date, shift_name, pay_item_id, bounded_quantity, quantity, held_quantity, source_count,
      incomplete_count,
      seals, basis, is_agreed, is_noted, contested)
    select p_drive_id, p, u.shift_date, u.shift_name, u.pay_item_id, u.bounded_quantity, u.quantity, u.held_quantity, u.source_count, u.incomplete_count,
      u.seals,
      u.basis, u.is_agreed, u.is_noted, u.contested from unit u
  ), added_shift as (
    insert into kept.draft_shift (drive_id, project_id, shift_date, shift_name, shift_id, is_silent, from_mm, to_mm)
    select p_drive_id, p, t.shift_date, n.name, t.id, t.id = any ((select s.shift_ids from silence s)::int[]), (place.from_m * 1000)::int,
      greatest((place.to_m * 1000)::int, (place.from_m * 1000)::int + 1)
    from public.shift t
    join public.calendar_shift n on n.id = t.calendar_shift_id
    cross join lateral (
      select min(l.from_m) as from_m, max(l.to_m) as to_m
      from (
        select b.from_m, b.to_m from public.boring b where b.shift_id = t.id
        union all
        select r.from_m, r.to_m from public.support_installed r where r.shift_id = t.id
      ) l
      offset 0
    ) place
    where t.drive_id = p_drive_id and t.id not in (select unnest(k.shift_ids) from kept k)
  )
  insert into kept.draft as d (drive_id, project_id, change, hash, ground_starts_mm, ground_kinds, ground_words)
  select p_drive_id, p, c.number, c.hash, g.starts_mm, g.kinds, g.words
  from (select number, hash from history.change where project_id = p order by number desc limit 1) c cross join report.ground_words_of(p_drive_id) g
  on conflict (drive_id) do update set change = excluded.change, hash = excluded.hash, ground_starts_mm = excluded.ground_starts_mm,
    ground_kinds = excluded.ground_kinds, ground_words = excluded.ground_words;
  return true;
end $$;

revoke execute on function keep_draft_sums(int, int) from public;
grant execute on function keep_draft_sums(int, int) to drivebook_app;

comment on function keep_draft_sums(int, int) is
  'Keeps what a draft of a valuation sums of each shift of a drive, where that many shifts lack it: whether it did; null: another is at it, the scope has no '
  'such drive, or its transaction has written to the record.';
