-- The lines of a draft with all its sources measured: one row per pay item.
create or replace function draft_line_of(drive_id int, cut_off date)
returns table (pay_item_id int, exact_quantity numeric, base_per_unit int, previous_quantity numeric, quantity numeric, to_date_quantity numeric,
  held_quantity numeric, previous_amount numeric, amount numeric, to_date_amount numeric, source_count int, incomplete_count int, digest text,
  basis text, contested jsonb, rounded_with text[], deemed_shifts text[])
language sql stable rows 100 begin atomic
  select * from draft_line_in(draft_line_of.drive_id, draft_line_of.cut_off, false);
end;

comment on function draft_line_of(int, date) is
  'The lines that a valuation with this cut-off would have, by pay item: quantities rounded once to the item''s decimals, those of items that divide the same '
  'records (rounded_with) together, amounts once to the currency''s.';
