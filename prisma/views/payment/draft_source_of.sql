-- Where a valuation with this cut-off differs from the certified ones, by record: new, corrected or removed records, quantities held, and contested
-- classes. A limit per metre of the item is a separate row: what it adds to or deducts from the rest. An empty only_reference: for all items.
create or replace function draft_source_of(drive_id int, cut_off date, only_reference text)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, sequence int, shift_date date, shift_name text,
  from_m numeric, to_m numeric, previous_quantity numeric, quantity numeric, to_date_quantity numeric, held_quantity numeric, incomplete boolean,
  basis text, contested jsonb)
language sql stable strict rows 100000 begin atomic
  with paired as (
    select coalesce(n.pay_item_id, c.pay_item_id) as pay_item_id, coalesce(n.reference, c.reference) as reference, coalesce(n.source, c.source) as source,
      coalesce(n.source_key, c.source_key) as source_key, coalesce(n.class_code, c.class_code) as class_code, coalesce(c.sequence, 0) + 1 as sequence,
      coalesce(n.shift_date, c.shift_date) as shift_date, coalesce(n.shift_name, c.shift_name) as shift_name, coalesce(n.from_m, c.from_m) as from_m,
      coalesce(n.to_m, c.to_m) as to_m, coalesce(c.quantity, 0) as previous_quantity, coalesce(n.quantity, 0) as to_date_quantity,
      coalesce(n.held_quantity, 0) as held_quantity, coalesce(n.incomplete, false) as incomplete,
      n.basis, n.contested
    from measured_of(draft_source_of.drive_id, draft_source_of.cut_off, draft_source_of.only_reference) n
    full join (select * from certified_to_date t where t.drive_id = draft_source_of.drive_id and draft_source_of.only_reference in ('', t.reference)) c
      on c.pay_item_id = n.pay_item_id and c.source_key = n.source_key and c.class_code = n.class_code
  )
  select pay_item_id, reference, source, source_key, class_code, sequence, shift_date, shift_name, from_m, to_m, previous_quantity,
    to_date_quantity - previous_quantity, to_date_quantity, held_quantity, incomplete, basis, contested
  from paired
  where to_date_quantity <> previous_quantity or held_quantity <> 0 or incomplete or contested is not null;
end;

comment on function draft_source_of(int, date, text) is
  'What a valuation with this cut-off would say of each record that certified ones do not say already; in base units (nr, m, m2, m3, kg, s).';
