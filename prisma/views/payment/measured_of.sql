-- The same for all shifts. What a limit per metre of an item adds to or deducts from the rest is a separate row, with the key limit.
create or replace function measured_of(drive_id int, until date, only_reference text)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, shift_date date, shift_name text, from_m numeric,
  to_m numeric, quantity numeric, held_quantity numeric, incomplete boolean, basis text, contested jsonb)
language sql stable begin atomic
  with record as materialized (
    select r.* from measured_record_in(measured_of.drive_id, measured_of.until, measured_of.only_reference, '{}') r
  ), bound as materialized (
    select b.* from measure_bound_of(measured_of.drive_id, measured_of.until) b where measured_of.only_reference in ('', b.reference)
  ), bounded as (
    select b.pay_item_id, b.reference, b.source, beyond_bounds(coalesce(sum(r.quantity), 0), b.least_quantity, b.most_quantity) as quantity
    from bound b
    left join (select r.pay_item_id, r.quantity from record r where exists (select from bound)) r on r.pay_item_id = b.pay_item_id
    group by b.pay_item_id, b.reference, b.source, b.least_quantity, b.most_quantity
  )
  select r.* from record r
  union all
  select b.pay_item_id, b.reference, b.source, 'limit', '', measured_of.until, null, null, null, b.quantity, 0, false, null, null
  from bounded b where b.quantity <> 0;
end;

comment on function measured_of(int, date, text) is
  'What the rules of a drive''s bills measure until a day, by item, record and ground class, and what a limit per metre adds or deducts, in base units (nr, '
  'm, m2, m3, kg, s); held_quantity: of a class that is contested, or disputed; basis: agreed, noted, or both, of the class that pays; contested: class '
  'decisions there that are not agreed (number, state, groundClass).';
