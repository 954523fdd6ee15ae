-- measured_part_of and lump_part_of by item, record and ground class: what a valuation counts, for one item or, if only_reference is empty, for all; the
-- line is rounded at the end. held: what the item would count if a decision that is not agreed were (see measure_catch_of), paid in the meantime under
-- the items that count the governing class; or because the record itself is disputed. Deductions, such as lowered progress, are not held: otherwise more
-- would be paid than is measured. incomplete: a part of it counts as nothing. without_shift_ids: see measured_part_in.
create or replace function measured_record_in(drive_id int, until date, only_reference text, without_shift_ids int[])
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, shift_date date, shift_name text, from_m numeric,
  to_m numeric, quantity numeric, held_quantity numeric, incomplete boolean, basis text, contested jsonb)
language sql stable strict rows 100000 begin atomic
  with dispute as materialized (
    select q.reference, q.source_key from quantity_dispute q where q.drive_id = measured_record_in.drive_id and q.settled_at is null
  ), part as materialized (
    select m.pay_item_id, m.reference, m.source, m.source_key, m.class_code, m.shift_date, m.shift_name, m.from_m, m.to_m, m.quantity, m.in_dispute, m.basis,
      m.contested, m.is_alone
    from measured_part_in(measured_record_in.drive_id, measured_record_in.until, measured_record_in.only_reference, false,
      measured_record_in.without_shift_ids) m
    union all
    select l.pay_item_id, l.reference, l.source, l.source_key, l.class_code, l.shift_date, l.shift_name, l.from_m, l.to_m, l.quantity, l.in_dispute, l.basis,
      l.contested, true
    from lump_part_of(measured_record_in.drive_id, measured_record_in.until, measured_record_in.only_reference) l
  ), record as ( -- most are a single row already and need not be sorted with those to be combined
    select pay_item_id, reference, source, source_key, class_code, shift_date, shift_name, from_m, to_m, case when in_dispute then 0
      else coalesce(quantity, 0) end as quantity,
      case when in_dispute then coalesce(quantity, 0) else 0 end as disputed_quantity, quantity is null as incomplete,
      basis, basis as other_basis, case when contested is not null then jsonb_build_array(contested) end as contested
    from part where is_alone
    union all
    select pay_item_id, reference, source, source_key, class_code, max(shift_date), max(shift_name), min(from_m), max(to_m),
      coalesce(sum(quantity) filter (where not in_dispute), 0), coalesce(sum(quantity) filter (where in_dispute), 0),
      bool_or(quantity is null), min(basis), max(basis), jsonb_agg(contested) filter (where contested is not null)
    from part where not is_alone
    group by pay_item_id, reference, source, source_key, class_code
  )
  select r.pay_item_id, r.reference, r.source, r.source_key, r.class_code, r.shift_date, r.shift_name, r.from_m, r.to_m,
    case when r.is_disputed then least(r.quantity, 0) else r.quantity end,
    r.disputed_quantity + case when r.is_disputed then greatest(r.quantity, 0) else 0 end, r.incomplete,
    case when r.basis <> r.other_basis then r.basis || ' and ' || r.other_basis else r.basis end,
    case when jsonb_array_length(r.contested) > 1 then distinct_elements(r.contested) else r.contested end -- called only where needed
  from (
    -- the few disputes are hashed, whatever the planner expects of the many measured records
    select record.*, (select exists (select from dispute)) and (record.reference, record.source_key) in (select q.reference, q.source_key
      from dispute q) as is_disputed
    from record
  ) r;
end;

comment on function measured_record_in(int, date, text, int[]) is
  'What the rules of a drive''s bills measure until a day, by item, record and ground class, without some shifts and without what limits per metre add or '
  'take off; columns as measured_of.';
