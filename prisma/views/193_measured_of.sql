-- measured_part_of by item, record and ground class: what a valuation counts. Rounded once a record and class, to a billionth; the line is
-- rounded at the end. held: of a disputed class, or itself disputed; what takes something off, as progress that was lowered, is not held:
-- more would be paid than is measured. incomplete: a part of it counts as nothing.
create or replace function measured_of(drive_id int, until date)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, shift_date date, shift_name text, from_m numeric,
  to_m numeric, quantity numeric, held_quantity numeric, incomplete boolean)
language sql stable begin atomic
  with record as (
    select pay_item_id, reference, source, source_key, class_code, max(shift_date) as shift_date, max(shift_name) as shift_name, min(from_m) as from_m,
      max(to_m) as to_m, round(coalesce(sum(quantity) filter (where not in_dispute), 0), 9) as quantity,
      round(coalesce(sum(quantity) filter (where in_dispute), 0), 9) as disputed_quantity, bool_or(quantity is null) as incomplete
    from measured_part_of(measured_of.drive_id, measured_of.until)
    group by pay_item_id, reference, source, source_key, class_code
  )
  select r.pay_item_id, r.reference, r.source, r.source_key, r.class_code, r.shift_date, r.shift_name, r.from_m, r.to_m,
    case when q.id is null then r.quantity else least(r.quantity, 0) end,
    r.disputed_quantity + case when q.id is null then 0 else greatest(r.quantity, 0) end, r.incomplete
  from record r
  left join quantity_dispute q on q.drive_id = measured_of.drive_id and q.reference = r.reference and q.source_key = r.source_key and q.settled_at is null;
end;

comment on function measured_of(int, date) is
  'What the rules of a drive''s bills measure until a day, by item, record and ground class, in base units (nr, m, m2, m3, kg, s); held_quantity: disputed.';
