-- The same by intervals of the given length on round chainages; null: a record without a place, or what a limit adds or deducts.
create or replace function valuation_by_interval(project text, drive text, valuation int, interval_m numeric)
returns table (bill_version text, reference text, unit text, from_chainage_m numeric, to_chainage_m numeric, quantity numeric, from_m numeric,
  held_quantity numeric)
language sql stable strict rows 1000 begin atomic
  with asked as materialized (
    select v.drive_id, v.number, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      drive_length(d.start_chainage_m, d.end_chainage_m) as length_m, interval_ending(d.direction * d.end_chainage_m, interval_m)::int as last_cell
    from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id
    where p.code = valuation_by_interval.project and d.code = valuation_by_interval.drive and v.number = valuation_by_interval.valuation
  ), part as (
    -- least() ignores null
    select m.*, asked.origin_m, case when m.from_m is not null then least(interval_holding(asked.origin_m + m.from_m, interval_m)::int,
      asked.last_cell) end as first_n,
      case when m.from_m = m.to_m then least(interval_holding(asked.origin_m + m.from_m, interval_m)::int, asked.last_cell)
        else interval_ending(asked.origin_m + m.to_m, interval_m)::int end as last_n
    from asked cross join lateral valuation_part_of(asked.drive_id, asked.number) m
    offset 0
  ), cut as (
    select p.*, generate_series(coalesce(p.first_n, 0), coalesce(p.last_n, 0)) as n from part p
  ), ended as (
    select c.pay_item_id, c.is_held, c.total, c.pieces, c.line_from_m, c.line_to_m, c.positions_m, case when c.first_n is not null then c.n end as n,
      case when c.first_n = c.last_n or c.first_n is null then c.quantity end as whole_quantity, case when c.n > c.first_n then c.n * interval_m - c.origin_m
        else c.from_m end as begin_m,
      case when c.n < c.last_n then (c.n + 1) * interval_m - c.origin_m else c.to_m end as end_m
    from cut c
    offset 0
  ), share as materialized (
    select s.pay_item_id, s.n, coalesce(sum(s.quantity) filter (where not s.is_held), 0) as quantity,
      coalesce(sum(s.quantity) filter (where s.is_held), 0) as held_quantity
    from (
      select e.pay_item_id, e.is_held, e.n, coalesce(e.whole_quantity, measured_before(e.total, e.pieces, e.line_from_m, e.line_to_m, e.positions_m, e.end_m)
        - measured_before(e.total, e.pieces, e.line_from_m, e.line_to_m, e.positions_m, e.begin_m)) as quantity
      from ended e
    ) s
    group by s.pay_item_id, s.n
  ), list as (
    select array_agg(s.pay_item_id) as items, array_agg(coalesce(s.n, 2147483647)) as keys, array_agg(s.quantity) as quantities,
      array_agg(s.held_quantity) as held_quantities
    from share s
  )
  select b.version, i.reference, i.unit, chainage_of_driven(asked.start_chainage_m, asked.direction, cell.from_m),
    chainage_of_driven(asked.start_chainage_m, asked.direction, cell.to_m), s.quantity, cell.from_m,
    s.held_quantity
  from asked
  cross join list
  cross join lateral split_to_lines(asked.drive_id, asked.number, list.items, list.keys, list.quantities, list.held_quantities) s
  cross join lateral (
    select interval_from(s.key, interval_m, asked.origin_m) as from_m, interval_to(s.key, interval_m, asked.origin_m, asked.length_m) as to_m
      where s.key <> 2147483647
    union all select null, null where s.key = 2147483647
  ) cell
  join pay_item i on i.id = s.pay_item_id
  join bill b on b.id = i.bill_id;
end;

comment on function valuation_by_interval(text, text, int, numeric) is
  'What a valuation has to date by pay item and intervals of chainage [m], rounded so that it sums to the line; held_quantity likewise, apart from quantity; '
  'null: no place. [unit of the item]';
