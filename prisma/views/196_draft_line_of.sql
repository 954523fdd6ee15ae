-- The lines that a valuation with this cut-off would have: one row an item of the bills that count until then.
create or replace function draft_line_of(drive_id int, cut_off date)
returns table (pay_item_id int, exact_quantity numeric, base_per_unit int, previous_quantity numeric, quantity numeric, to_date_quantity numeric,
  held_quantity numeric, previous_amount numeric, amount numeric, to_date_amount numeric, source_count int, incomplete_count int, digest text,
  basis text, contested jsonb, rounded_with text[])
language sql stable begin atomic
  with drafted as (
    select s.pay_item_id, sum(s.quantity) as quantity, sum(s.held_quantity) as held_quantity, count(*) filter (where s.quantity <> 0) as source_count,
      count(*) filter (where s.incomplete) as incomplete_count,
      encode(sha256(string_agg(source_seal(s.reference, s.source_key, s.class_code, s.sequence, s.previous_quantity, s.to_date_quantity), ''::bytea
        order by s.source_key collate "C", s.class_code collate "C") filter (where s.quantity <> 0)), 'hex') as digest,
      case when bool_or(s.basis like 'agreed%') and bool_or(s.basis like '%noted') then 'agreed and noted' else min(s.basis) end as basis,
      distinct_elements(jsonb_path_query_array(jsonb_agg(s.contested) filter (where s.contested is not null), '$[*][*]')) as contested
    from draft_source_of(draft_line_of.drive_id, draft_line_of.cut_off) s
    group by s.pay_item_id
  ), certified as (
    select l.pay_item_id, sum(l.quantity) as quantity, sum(l.amount) as amount
    from certified_line l join valuation v on v.id = l.valuation_id and v.state = 'certified'
    where l.drive_id = draft_line_of.drive_id
    group by l.pay_item_id
  ), exact as (
    select c.pay_item_id, sum(c.quantity) as quantity from certified_to_date c where c.drive_id = draft_line_of.drive_id group by c.pay_item_id
  ), line as (
    select i.id as pay_item_id, i.decimals, i.rate, b.minor_units, base.per_unit,
      coalesce(exact.quantity, 0) + coalesce(s.quantity, 0) as exact_quantity, coalesce(c.quantity, 0) as previous_quantity,
      round((coalesce(exact.quantity, 0) + coalesce(s.quantity, 0)) / base.per_unit, i.decimals) as to_date_quantity,
      round(coalesce(s.held_quantity, 0) / base.per_unit, i.decimals) as held_quantity, coalesce(c.amount, 0) as previous_amount,
      coalesce(s.source_count, 0)::int as source_count, coalesce(s.incomplete_count, 0)::int as incomplete_count, coalesce(s.digest, encode(sha256(''), 'hex')) as digest,
      s.basis, s.contested,
      t.group_number, t.reference_list as rounded_with, row_number() over (order by b.valid_from, i.position) as n
    from bill b
    join pay_item i on i.bill_id = b.id
    left join measurement_rule r on r.pay_item_id = i.id
    cross join lateral (select base_per_unit(r.dimension::text, i.unit) as per_unit) base
    left join drafted s on s.pay_item_id = i.id
    left join certified c on c.pay_item_id = i.id
    left join exact on exact.pay_item_id = i.id
    left join rounded_together(draft_line_of.drive_id) t on t.pay_item_id = i.id
    where b.drive_id = draft_line_of.drive_id and b.valid_from <= draft_line_of.cut_off
  ), step as ( -- the coarsest step of a group, as steps in a base unit
    select group_number, min(power(10::numeric, decimals) / per_unit) as per_base from line where group_number is not null group by group_number
  ), together as (
    select list.pay_item_id, list.steps / s.per_base as quantity
    from step s
    cross join lateral (
      select array_agg(l.pay_item_id order by l.n) as items, rounded_to_sum(array_agg(l.exact_quantity * s.per_base order by l.n)) as steps
      from line l where l.group_number = s.group_number
    ) of_group
    cross join lateral unnest(of_group.items, of_group.steps) list(pay_item_id, steps)
  ), rounded as (
    select l.pay_item_id, l.rate, l.minor_units, l.exact_quantity, l.per_unit, l.previous_quantity, l.held_quantity, l.previous_amount, l.source_count,
      l.incomplete_count, l.digest, l.basis, l.contested, l.rounded_with, coalesce(round(t.quantity / l.per_unit, l.decimals), l.to_date_quantity) as to_date_quantity
    from line l left join together t on t.pay_item_id = l.pay_item_id
  )
  select pay_item_id, exact_quantity, per_unit, previous_quantity, to_date_quantity - previous_quantity, to_date_quantity, held_quantity, previous_amount,
    round(to_date_quantity * coalesce(rate, 0), minor_units) - previous_amount, round(to_date_quantity * coalesce(rate, 0), minor_units), source_count,
    incomplete_count, digest, basis, contested, rounded_with
  from rounded;
end;

comment on function draft_line_of(int, date) is
  'The lines that a valuation with this cut-off would have, by pay item: quantities rounded once to the item''s decimals, those of items that divide the same records (rounded_with) together, amounts once to the currency''s.';
