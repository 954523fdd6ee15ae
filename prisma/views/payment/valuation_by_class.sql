-- The quantities of a valuation to date, split by the ground class of its records; null: no class there, a record without a place, or what a limit per
-- metre adds or deducts. The shares of an item sum to its line, and the held shares to the quantity held in the line.
create or replace function valuation_by_class(project text, drive text, valuation int)
returns table (bill_version text, reference text, unit text, ground_class_code text, quantity numeric, held_quantity numeric)
language sql stable strict rows 1000 begin atomic
  with asked as materialized (
    select v.drive_id, v.number from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id
    where p.code = valuation_by_class.project and d.code = valuation_by_class.drive and v.number = valuation_by_class.valuation
  ), share as materialized (
    select m.pay_item_id, m.class_code, coalesce(sum(m.quantity) filter (where not m.is_held), 0) as quantity,
      coalesce(sum(m.quantity) filter (where m.is_held), 0) as held_quantity
    from asked cross join lateral valuation_part_of(asked.drive_id, asked.number) m
    group by m.pay_item_id, m.class_code
  ), class as materialized ( -- in order of their codes, null last
    select c.class_code, row_number() over (order by nullif(c.class_code, '') collate "C" nulls last)::int as key from (select distinct class_code from share) c
  ), list as (
    select array_agg(s.pay_item_id) as items, array_agg(c.key) as keys, array_agg(s.quantity) as quantities, array_agg(s.held_quantity) as held_quantities
    from share s join class c on c.class_code = s.class_code
  )
  select b.version, i.reference, i.unit, nullif(c.class_code, ''), s.quantity, s.held_quantity
  from asked
  cross join list
  cross join lateral split_to_lines(asked.drive_id, asked.number, list.items, list.keys, list.quantities, list.held_quantities) s
  join class c on c.key = s.key
  join pay_item i on i.id = s.pay_item_id
  join bill b on b.id = i.bill_id;
end;

comment on function valuation_by_class(text, text, int) is
  'What a valuation has to date, by pay item and ground class, rounded so that it sums to the line; held_quantity likewise, apart from quantity; null class: '
  'none, or no place. [unit of the item]';
