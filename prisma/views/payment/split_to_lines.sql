-- Quantities of pay items, and what is held of them, each split into shares by a key, rounded so that the shares of an item sum to its line: by
-- largest remainder, of equal ones (to a millionth of a step, as thirds differ by a billionth) the first by key. items, keys, quantities and
-- held_quantities (in base units) correspond to each other.
create or replace function split_to_lines(drive_id int, valuation int, items int[], keys int[], quantities numeric[], held_quantities numeric[])
returns table (pay_item_id int, key int, quantity numeric, held_quantity numeric)
language sql stable strict rows 1000 begin atomic
  with share as materialized (
    select s.pay_item_id, s.key, s.quantity, s.held_quantity from unnest(items, keys, quantities, held_quantities) s(pay_item_id, key, quantity, held_quantity)
  ), exact as materialized ( -- for all items, because an item without a share may still be rounded together with others
    select i.id as pay_item_id, coalesce(s.quantity, 0) as quantity, coalesce(s.held_quantity, 0) as held_quantity
    from valuation v
    join bill b on b.drive_id = v.drive_id and b.valid_from <= v.cut_off
    join pay_item i on i.bill_id = b.id
    left join (select s.pay_item_id, sum(s.quantity) as quantity, sum(s.held_quantity) as held_quantity from share s group by s.pay_item_id) s
      on s.pay_item_id = i.id
    where v.drive_id = split_to_lines.drive_id and v.number = split_to_lines.valuation
  ), line as materialized (
    select r.pay_item_id, r.step, base.per_unit, power(10::numeric, -i.decimals) as held_step, coalesce(c.to_date_quantity, r.quantity) as quantity,
      coalesce(c.held_quantity, round(e.held_quantity / base.per_unit, i.decimals)) as held_quantity
    from (select array_agg(e.pay_item_id) as items, array_agg(e.quantity) as quantities from exact e) a
    cross join lateral rounded_line_of(split_to_lines.drive_id, a.items, a.quantities) r
    join exact e on e.pay_item_id = r.pay_item_id
    join pay_item i on i.id = r.pay_item_id
    left join measurement_rule m on m.pay_item_id = i.id
    cross join lateral (select base_per_unit(m.dimension::text, i.unit) as per_unit) base
    left join (
      select l.pay_item_id, l.to_date_quantity, l.held_quantity
      from certified_line l join valuation v on v.id = l.valuation_id and v.state::text = 'certified'
      where v.drive_id = split_to_lines.drive_id and v.number = split_to_lines.valuation
    ) c on c.pay_item_id = r.pay_item_id
  ), stepped as (
    select s.pay_item_id, s.key, l.step, l.held_step, s.quantity / (l.step * l.per_unit) as q, s.held_quantity / (l.held_step * l.per_unit) as h,
      l.quantity / l.step as whole, l.held_quantity / l.held_step as held_whole
    from share s join line l on l.pay_item_id = s.pay_item_id
  ), ranked as (
    select s.*, count(*) over item as shares, s.whole - sum(floor(s.q)) over item as rest, s.held_whole - sum(floor(s.h)) over item as held_rest,
      row_number() over (partition by s.pay_item_id order by round(s.q - floor(s.q), 6) desc, s.key) as place,
      row_number() over (partition by s.pay_item_id order by round(s.h - floor(s.h), 6) desc, s.key) as held_place
    from stepped s
    window item as (partition by s.pay_item_id)
  )
  select r.pay_item_id, r.key, round(r.step * (floor(r.q) + floor(r.rest / r.shares) + case when r.place <= r.rest - r.shares * floor(r.rest / r.shares) then 1
    else 0 end), 9),
    round(r.held_step * (floor(r.h) + floor(r.held_rest / r.shares) + case when r.held_place <= r.held_rest - r.shares * floor(r.held_rest / r.shares) then 1
      else 0 end), 9)
  from ranked r;
end;

comment on function split_to_lines(int, int, int[], int[], numeric[], numeric[]) is
  'Shares of pay items by a key, in base units, rounded so that those of an item sum to its line in a valuation, and those held to what the line holds. [unit '
  'of the item]';
