-- Quantities of pay items rounded like the lines of a valuation: to the item's decimals, those that are rounded together so that they sum to their
-- rounded sum, in the coarsest step of the group. Exact quantities are in base units; rounded ones and the step are in the item's unit.
create or replace function rounded_line_of(drive_id int, item_ids int[], exact_quantities numeric[])
returns table (pay_item_id int, quantity numeric, step numeric, reference_list text[])
language sql stable strict rows 100 begin atomic
  with line as materialized (
    select i.id as pay_item_id, i.decimals, x.exact_quantity, base_per_unit(r.dimension::text, i.unit) as per_unit, t.group_number, t.reference_list,
      row_number() over (order by b.valid_from, i.position) as n
    from unnest(item_ids, exact_quantities) x(id, exact_quantity)
    join pay_item i on i.id = x.id
    join bill b on b.id = i.bill_id
    left join measurement_rule r on r.pay_item_id = i.id
    left join rounded_together(rounded_line_of.drive_id) t on t.pay_item_id = i.id
  ), step as ( -- in base units
    select group_number, max(per_unit * power(10::numeric, -decimals)) as base from line where group_number is not null group by group_number
  ), together as (
    select list.pay_item_id, list.steps * s.base as quantity, s.base
    from step s
    cross join lateral (
      select array_agg(l.pay_item_id order by l.n) as items, rounded_to_sum(array_agg(l.exact_quantity / s.base order by l.n)) as steps
      from line l where l.group_number = s.group_number
    ) of_group
    cross join lateral unnest(of_group.items, of_group.steps) list(pay_item_id, steps)
  )
  select l.pay_item_id, round(coalesce(t.quantity, l.exact_quantity) / l.per_unit, l.decimals), coalesce(t.base / l.per_unit, power(10::numeric, -l.decimals)),
    l.reference_list
  from line l left join together t on t.pay_item_id = l.pay_item_id;
end;

comment on function rounded_line_of(int, int[], numeric[]) is
  'Quantities of pay items, in base units, rounded as the lines of a valuation are: to the item''s decimals, those that divide the same records together; '
  'with the step that they are rounded to. [unit of the item]';
