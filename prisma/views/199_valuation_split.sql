-- Quantities of pay items, and what is held of them, each split into shares by a key, rounded so that the shares of an item sum to its line: by
-- largest remainder, of equal ones (to a millionth of a step, as a third leaves a billionth here or there) the first by key. items, keys, quantities and held_quantities (in base units) go together.
create or replace function split_to_lines(drive_id int, valuation int, items int[], keys int[], quantities numeric[], held_quantities numeric[])
returns table (pay_item_id int, key int, quantity numeric, held_quantity numeric)
language sql stable strict rows 1000 begin atomic
  with share as materialized (
    select s.pay_item_id, s.key, s.quantity, s.held_quantity from unnest(items, keys, quantities, held_quantities) s(pay_item_id, key, quantity, held_quantity)
  ), exact as materialized ( -- of all items, as an item without a share is rounded together with others nevertheless
    select i.id as pay_item_id, coalesce(s.quantity, 0) as quantity, coalesce(s.held_quantity, 0) as held_quantity
    from valuation v
    join bill b on b.drive_id = v.drive_id and b.valid_from <= v.cut_off
    join pay_item i on i.bill_id = b.id
    left join (select s.pay_item_id, sum(s.quantity) as quantity, sum(s.held_quantity) as held_quantity from share s group by s.pay_item_id) s on s.pay_item_id = i.id
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
  select r.pay_item_id, r.key, round(r.step * (floor(r.q) + floor(r.rest / r.shares) + case when r.place <= r.rest - r.shares * floor(r.rest / r.shares) then 1 else 0 end), 9),
    round(r.held_step * (floor(r.h) + floor(r.held_rest / r.shares) + case when r.held_place <= r.held_rest - r.shares * floor(r.held_rest / r.shares) then 1 else 0 end), 9)
  from ranked r;
end;

comment on function split_to_lines(int, int, int[], int[], numeric[], numeric[]) is
  'Shares of pay items by a key, in base units, rounded so that those of an item sum to its line in a valuation, and those held to what the line holds. [unit of the item]';

-- What a valuation has to date, split by the ground class that its records lie in; null: no class there, a record without a place, or what a
-- limit per metre adds or takes off. The shares of an item sum to its line, and those held to what the line holds.
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
  ), class as materialized ( -- in the order of their codes, none last
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
  'What a valuation has to date, by pay item and ground class, rounded so that it sums to the line; held_quantity likewise, apart from quantity; null class: none, or no place. [unit of the item]';

-- The same by intervals of the given length on round chainages; null: a record without a place, or what a limit adds or takes off.
create or replace function valuation_by_interval(project text, drive text, valuation int, interval_m numeric)
returns table (bill_version text, reference text, unit text, from_chainage_m numeric, to_chainage_m numeric, quantity numeric, from_m numeric,
  held_quantity numeric)
language sql stable strict rows 1000 begin atomic
  with asked as materialized (
    select v.drive_id, v.number, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      abs(d.end_chainage_m - d.start_chainage_m) as length_m, (ceil(d.direction * d.end_chainage_m / interval_m) - 1)::int as last_cell
    from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id
    where p.code = valuation_by_interval.project and d.code = valuation_by_interval.drive and v.number = valuation_by_interval.valuation
  ), part as (
    select m.*, asked.origin_m, case when m.from_m is not null then least(floor((asked.origin_m + m.from_m) / interval_m)::int, asked.last_cell) end as first_n, -- least() takes no notice of null
      case when m.from_m = m.to_m then least(floor((asked.origin_m + m.from_m) / interval_m)::int, asked.last_cell)
        else ceil((asked.origin_m + m.to_m) / interval_m)::int - 1 end as last_n
    from asked cross join lateral valuation_part_of(asked.drive_id, asked.number) m
    offset 0
  ), cut as (
    select p.*, generate_series(coalesce(p.first_n, 0), coalesce(p.last_n, 0)) as n from part p
  ), ended as (
    select c.pay_item_id, c.is_held, c.total, c.pieces, c.line_from_m, c.line_to_m, c.positions_m, case when c.first_n is not null then c.n end as n,
      case when c.first_n = c.last_n or c.first_n is null then c.quantity end as whole_quantity, case when c.n > c.first_n then c.n * interval_m - c.origin_m else c.from_m end as begin_m,
      case when c.n < c.last_n then (c.n + 1) * interval_m - c.origin_m else c.to_m end as end_m
    from cut c
    offset 0
  ), share as materialized (
    select s.pay_item_id, s.n, coalesce(sum(s.quantity) filter (where not s.is_held), 0) as quantity, coalesce(sum(s.quantity) filter (where s.is_held), 0) as held_quantity
    from (
      select e.pay_item_id, e.is_held, e.n, coalesce(e.whole_quantity, measured_before(e.total, e.pieces, e.line_from_m, e.line_to_m, e.positions_m, e.end_m)
        - measured_before(e.total, e.pieces, e.line_from_m, e.line_to_m, e.positions_m, e.begin_m)) as quantity
      from ended e
    ) s
    group by s.pay_item_id, s.n
  ), list as (
    select array_agg(s.pay_item_id) as items, array_agg(coalesce(s.n, 2147483647)) as keys, array_agg(s.quantity) as quantities, array_agg(s.held_quantity) as held_quantities
    from share s
  )
  select b.version, i.reference, i.unit, asked.start_chainage_m + asked.direction * cell.from_m, asked.start_chainage_m + asked.direction * cell.to_m, s.quantity, cell.from_m,
    s.held_quantity
  from asked
  cross join list
  cross join lateral split_to_lines(asked.drive_id, asked.number, list.items, list.keys, list.quantities, list.held_quantities) s
  cross join lateral (
    select greatest(s.key * interval_m - asked.origin_m, 0) as from_m, least((s.key + 1) * interval_m - asked.origin_m, asked.length_m) as to_m where s.key <> 2147483647
    union all select null, null where s.key = 2147483647
  ) cell
  join pay_item i on i.id = s.pay_item_id
  join bill b on b.id = i.bill_id;
end;

comment on function valuation_by_interval(text, text, int, numeric) is
  'What a valuation has to date by pay item and intervals of chainage [m], rounded so that it sums to the line; held_quantity likewise, apart from quantity; null: no place. [unit of the item]';
