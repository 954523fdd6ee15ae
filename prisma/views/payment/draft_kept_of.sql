-- Which cached sums of a drive's shifts (kept.draft_sum) are still valid, in one row: the shifts for which they are, and the keys of those for
-- which they are not. Decided from what has been written since, by whomever, not by the writers:
--   a shift that was written to, disputed, or included in a certified valuation, by the rows of the history;
--   a shift whose ground has changed as payment sees it, by comparing the ground then and now;
--   a shift that has been deemed accepted in the meantime, by asking;
--   all of them, after any other write to tables that measuring reads: everything not known to be handled above or not to be read.
-- is_kept: false if nothing is cached, as of a moment, and for a cut-off before the last certified one.
create or replace function draft_kept_of(drive_id int, cut_off date)
returns table (is_kept boolean, shift_ids int[], dates date[], names text[])
language sql stable strict rows 1 begin atomic
  with since as materialized (
    select c.number, c.tables, c.drives @> array[k.drive_id] as is_of_drive
    from kept.draft k join history.change c on c.project_id = k.project_id and c.number > k.change
    where k.drive_id = draft_kept_of.drive_id
  ), kept as materialized (
    select k.drive_id, k.project_id, k.change, k.ground_starts_mm || '{}'::int[] as starts_mm, k.ground_kinds || '{}'::int[] as kinds, k.ground_words as words
    from kept.draft k
    where k.drive_id = draft_kept_of.drive_id and history.standing_change() is null
      and exists (select from history.change c where c.project_id = k.project_id and c.number = k.change and c.hash = k.hash)
      and not exists (select from valuation v where v.drive_id = k.drive_id and v.state::text = 'certified' and v.cut_off > draft_kept_of.cut_off)
      and not exists (
        select from since s cross join lateral unnest(s.tables) t(name) left join change_kind() c on c.table_name = t.name
        where (s.is_of_drive or coalesce(c.kind not in ('drive', 'bill'), true))
          and coalesce(c.kind not in ('shift', 'class', 'valuation', 'probing', 'grouting', 'water', 'hold_point',
          'access', 'party', 'machine', 'programme', 'geology', 'support_standard', 'baseline', 'notice', 'attachment', 'sample'), true))
  ), own as materialized (
    select k.project_id, s.number from kept k cross join since s where s.is_of_drive
  ), written as materialized (
    select w.shift_id
    from own o
    cross join lateral (
      select h.id as shift_id from history.shift h where h.project_id = o.project_id and h.from_change = o.number
      union all
      select h.id from history.shift h where h.project_id = o.project_id and h.to_change = o.number and h.to_change < 9223372036854775807
      union all
      select h.shift_id from history.boring h where h.project_id = o.project_id and h.from_change = o.number
      union all
      select h.shift_id from history.boring h where h.project_id = o.project_id and h.to_change = o.number and h.to_change < 9223372036854775807
      union all
      select h.shift_id from history.support_installed h where h.project_id = o.project_id and h.from_change = o.number
      union all
      select h.shift_id from history.support_installed h where h.project_id = o.project_id and h.to_change = o.number and h.to_change < 9223372036854775807
      union all
      select h.shift_id from history.activity h where h.project_id = o.project_id and h.from_change = o.number
      union all
      select h.shift_id from history.activity h where h.project_id = o.project_id and h.to_change = o.number and h.to_change < 9223372036854775807
      offset 0
    ) w
    group by w.shift_id
  ), named as materialized ( -- a shift that was removed and posted again has a new number but the same key
    select h.shift_date, n.name as shift_name
    from kept k cross join written w
    cross join lateral (select h.shift_date, h.calendar_shift_id from history.shift h where h.id = w.shift_id and h.drive_id = k.drive_id
      and h.to_change > k.change offset 0) h
    join calendar_shift n on n.id = h.calendar_shift_id
    union
    select case when q.source_key ~ '^\d{4}-\d\d-\d\d/' then split_part(q.source_key, '/', 1)::date end, split_part(q.source_key, '/', 2)
    from own o
    cross join lateral (
      select q.source_key from history.quantity_dispute q where q.project_id = o.project_id and q.from_change = o.number
      union all
      select q.source_key from history.quantity_dispute q where q.project_id = o.project_id and q.to_change = o.number and q.to_change < 9223372036854775807
      offset 0
    ) q
    union
    select c.shift_date, c.shift_name
    from own o
    cross join lateral (select v.id from history.valuation v where v.project_id = o.project_id and v.from_change = o.number
      and v.state::text = 'certified' offset 0) v
    cross join lateral (select c.shift_date, c.shift_name, c.source from certified_source c where c.valuation_id = v.id offset 0) c
    where c.source::text in ('advance', 'support', 'time')
  ), ground as materialized (
    select g.starts_mm, g.kinds, g.words, k.starts_mm as starts_mm_then, k.kinds as kinds_then, k.words as words_then
    from kept k cross join lateral ground_words_of(k.drive_id) g
  ), cut as (
    select c.mm, lead(c.mm, 1, 2147483647) over (order by c.mm) as to_mm
    from ground g cross join lateral (select unnest(g.starts_mm) union select unnest(g.starts_mm_then)) c(mm)
    where g.starts_mm <> g.starts_mm_then or g.kinds <> g.kinds_then or g.words <> g.words_then
  ), moved as materialized (
    select range_agg(int4range(c.mm, c.to_mm)) as places from cut c
    where (select words from ground)[(select kinds from ground)[width_bucket(c.mm, (select starts_mm from ground))]]
      is distinct from (select words_then from ground)[(select kinds_then from ground)[width_bucket(c.mm, (select starts_mm_then from ground))]]
  ), standing as materialized (
    select u.shift_id, u.shift_date, u.shift_name from kept.draft_shift u
    where u.drive_id = draft_kept_of.drive_id and exists (select from kept)
      and u.shift_id not in (select w.shift_id from written w)
      and (u.shift_date, u.shift_name) not in (select n.shift_date, n.shift_name from named n where n.shift_date is not null)
      and u.is_silent = (u.shift_id = any ((select shift_ids from paid_by_silence_of(draft_kept_of.drive_id))::int[]))
      and coalesce(not int4range(u.from_mm, u.to_mm) && (select places from moved), true)
  ), other as (
    select n.shift_date, n.shift_name from named n where n.shift_date is not null
    union
    select u.shift_date, u.shift_name from kept.draft_shift u
    where u.drive_id = draft_kept_of.drive_id and exists (select from kept) and u.shift_id not in (select s.shift_id from standing s)
    union
    select t.shift_date, n.name from shift t join calendar_shift n on n.id = t.calendar_shift_id
    where t.drive_id = draft_kept_of.drive_id and exists (select from kept) and t.id not in (select s.shift_id from standing s)
  ), listed as (
    select coalesce(array_agg(o.shift_date), '{}') as dates, coalesce(array_agg(o.shift_name), '{}') as names from other o
  )
  select exists (select from kept), (select coalesce(array_agg(s.shift_id), '{}') from standing s), l.dates, l.names from listed l;
end;

comment on function draft_kept_of(int, date) is
  'Which cached sums of a drive''s shifts are still valid: ids of the shifts for which they are, dates and names of those for which they are not.';
