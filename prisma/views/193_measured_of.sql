-- The elements of a JSON array, each once, in their order; of nothing, nothing.
create or replace function distinct_elements(list jsonb) returns jsonb language sql immutable parallel safe as $$
  select case when list is not null then (select jsonb_agg(distinct element) from jsonb_array_elements(list) element) end
$$;

comment on function distinct_elements(jsonb) is 'The elements of a JSON array, each once; null of none.';

-- measured_part_of by item, record and ground class: what a valuation counts. Rounded once a record and class, to a billionth; the line is
-- rounded at the end. held: what the item would count if a decision that is not agreed were (see measured_part_of), paid meanwhile under
-- the items that count the ruling class; or the record is itself disputed. What takes something off, as progress that was lowered, is
-- not held: more would be paid than is measured. incomplete: a part of it counts as nothing.
create or replace function measured_of(drive_id int, until date)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, shift_date date, shift_name text, from_m numeric,
  to_m numeric, quantity numeric, held_quantity numeric, incomplete boolean, basis text, contested jsonb)
language sql stable begin atomic
  with part as materialized (
    select pay_item_id, reference, source, source_key, class_code, shift_date, shift_name, from_m, to_m, quantity, in_dispute, basis, contested, is_whole
    from measured_part_of(measured_of.drive_id, measured_of.until)
  ), record as ( -- most lie in one cell whole, and are not sorted with those to be put together
    select pay_item_id, reference, source, source_key, class_code, shift_date, shift_name, from_m, to_m,
      round(case when in_dispute then 0 else coalesce(quantity, 0) end, 9) as quantity,
      round(case when in_dispute then coalesce(quantity, 0) else 0 end, 9) as disputed_quantity, quantity is null as incomplete,
      basis, basis as other_basis, case when contested is not null then jsonb_build_array(contested) end as contested
    from part where is_whole
    union all
    select pay_item_id, reference, source, source_key, class_code, max(shift_date), max(shift_name), min(from_m), max(to_m),
      round(coalesce(sum(quantity) filter (where not in_dispute), 0), 9), round(coalesce(sum(quantity) filter (where in_dispute), 0), 9),
      bool_or(quantity is null), min(basis), max(basis), jsonb_agg(contested) filter (where contested is not null)
    from part where not is_whole
    group by pay_item_id, reference, source, source_key, class_code
  )
  select r.pay_item_id, r.reference, r.source, r.source_key, r.class_code, r.shift_date, r.shift_name, r.from_m, r.to_m,
    case when r.is_disputed then least(r.quantity, 0) else r.quantity end,
    r.disputed_quantity + case when r.is_disputed then greatest(r.quantity, 0) else 0 end, r.incomplete,
    case when r.basis <> r.other_basis then r.basis || ' and ' || r.other_basis else r.basis end,
    case when jsonb_array_length(r.contested) > 1 then distinct_elements(r.contested) else r.contested end -- called where it is needed only
  from (
    -- the few that are disputed are hashed, whatever the planner expects of the many that are measured
    select record.*, (record.reference, record.source_key) in (
      select q.reference, q.source_key from quantity_dispute q where q.drive_id = measured_of.drive_id and q.settled_at is null) as is_disputed
    from record
  ) r;
end;

comment on function measured_of(int, date) is
  'What the rules of a drive''s bills measure until a day, by item, record and ground class, in base units (nr, m, m2, m3, kg, s); held_quantity: of a class that is contested, or disputed; basis: agreed, noted, or both, of the class that pays; contested: class decisions that stand there and are not agreed (number, state, groundClass).';
