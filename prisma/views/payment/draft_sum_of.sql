-- The cached sums of a drive's shifts until a day, except for the shifts dates and names: see draft_kept_of, which determines which are valid.
create or replace function draft_sum_of(drive_id int, cut_off date, dates date[], names text[])
returns table (shift_date date, shift_name text, pay_item_id int, bounded_quantity numeric, quantity numeric, held_quantity numeric, source_count int,
  incomplete_count int, seals bytea, basis text, is_agreed boolean, is_noted boolean, contested jsonb)
language sql stable strict rows 10000 begin atomic
  select s.shift_date, s.shift_name, s.pay_item_id, s.bounded_quantity, s.quantity, s.held_quantity, s.source_count, s.incomplete_count, s.seals, s.basis,
    s.is_agreed, s.is_noted, s.contested
  from kept.draft_sum s
  where s.drive_id = draft_sum_of.drive_id and s.shift_date <= draft_sum_of.cut_off
    and (s.shift_date, s.shift_name) not in (select d.day, d.name from unnest(draft_sum_of.dates, draft_sum_of.names) d(day, name));
end;

comment on function draft_sum_of(int, date, date[], text[]) is
  'The sums that are kept of the shifts of a drive until a day, without some shifts; columns as draft_unit_of.';
