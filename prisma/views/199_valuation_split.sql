-- What a valuation measures to date, split by the ground class that its records lie in; null: no class there, or a record without a place. The
-- parts of an item sum to what it measures before it is rounded; what a limit per metre adds or takes off stands under a null class.
create or replace function valuation_by_class(project text, drive text, valuation int)
returns table (bill_version text, reference text, unit text, ground_class_code text, quantity numeric, held_quantity numeric)
language sql stable begin atomic
  with asked as materialized (
    select v.drive_id, v.cut_off from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id
    where p.code = valuation_by_class.project and d.code = valuation_by_class.drive and v.number = valuation_by_class.valuation
  ), measured as materialized (
    select m.pay_item_id, nullif(m.class_code, '') as class_code, m.quantity, m.held_quantity
    from asked cross join lateral measured_of(asked.drive_id, asked.cut_off) m
  ), bound as materialized (
    select b.* from asked cross join lateral measure_bound_of(asked.drive_id, asked.cut_off) b
  ), part as (
    select * from measured
    union all
    select b.pay_item_id, null, beyond_bounds(coalesce(sum(m.quantity), 0), b.least_quantity, b.most_quantity), 0
    from bound b left join measured m on m.pay_item_id = b.pay_item_id
    group by b.pay_item_id, b.least_quantity, b.most_quantity
    having beyond_bounds(coalesce(sum(m.quantity), 0), b.least_quantity, b.most_quantity) <> 0
  )
  select b.version, i.reference, i.unit, part.class_code, sum(part.quantity) / base_per_unit(r.dimension::text, i.unit),
    sum(part.held_quantity) / base_per_unit(r.dimension::text, i.unit)
  from part
  join pay_item i on i.id = part.pay_item_id
  join bill b on b.id = i.bill_id
  join measurement_rule r on r.pay_item_id = i.id
  group by b.version, i.reference, i.unit, part.class_code, r.dimension;
end;

comment on function valuation_by_class(text, text, int) is
  'What a valuation measures to date, by pay item and ground class, in the item''s unit, not rounded; null class: none, or no place.';

-- The same by intervals of the given length on round chainages; null: a record without a place.
create or replace function valuation_by_interval(project text, drive text, valuation int, interval_m numeric)
returns table (bill_version text, reference text, unit text, from_chainage_m numeric, to_chainage_m numeric, quantity numeric, from_m numeric,
  held_quantity numeric)
language sql stable begin atomic
  with asked as materialized (
    select v.drive_id, v.cut_off, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      abs(d.end_chainage_m - d.start_chainage_m) as length_m, ceil(d.direction * d.end_chainage_m / interval_m) - 1 as last_cell
    from valuation v join drive d on d.id = v.drive_id join project p on p.id = d.project_id
    where p.code = valuation_by_interval.project and d.code = valuation_by_interval.drive and v.number = valuation_by_interval.valuation
  ), part as (
    select asked.*, m.pay_item_id, m.from_m, m.to_m, m.quantity, m.in_dispute or (q.id is not null and m.quantity > 0) as is_held,
      m.pieces, m.line_from_m, m.line_to_m, m.positions_m,
      pieces_before(m.pieces, m.line_from_m, m.line_to_m, m.positions_m, m.from_m) as pieces_behind,
      pieces_before(m.pieces, m.line_from_m, m.line_to_m, m.positions_m, m.to_m) - pieces_before(m.pieces, m.line_from_m, m.line_to_m, m.positions_m, m.from_m) as pieces_here,
      case when m.from_m is not null then least(floor((asked.origin_m + m.from_m) / interval_m), asked.last_cell) end as first_n, -- least() takes no notice of null
      case when m.from_m = m.to_m then least(floor((asked.origin_m + m.from_m) / interval_m), asked.last_cell)
        else ceil((asked.origin_m + m.to_m) / interval_m) - 1 end as last_n
    from asked cross join lateral measured_part_of(asked.drive_id, asked.cut_off) m
    left join quantity_dispute q on q.drive_id = asked.drive_id and q.reference = m.reference and q.source_key = m.source_key and q.settled_at is null
    where m.quantity is not null
  ), share as (
    select part.*, coalesce(n, part.first_n) as n,
      case when part.first_n is null or part.first_n = part.last_n then round(part.quantity, 9)
        when part.pieces is not null then
          round(part.quantity * (pieces_before(pieces, line_from_m, line_to_m, positions_m, least((n + 1) * interval_m - origin_m, to_m)) - pieces_behind) / pieces_here, 9)
          - round(part.quantity * (pieces_before(pieces, line_from_m, line_to_m, positions_m, greatest(n * interval_m - origin_m, from_m)) - pieces_behind) / pieces_here, 9)
        else round(part.quantity * (least((n + 1) * interval_m - origin_m, to_m) - from_m) / (to_m - from_m), 9)
          - round(part.quantity * (greatest(n * interval_m - origin_m, from_m) - from_m) / (to_m - from_m), 9) end as quantity_here
    from part left join lateral generate_series(part.first_n, part.last_n) n on true
  )
  select b.version, i.reference, i.unit, s.start_chainage_m + s.direction * cell.from_m, s.start_chainage_m + s.direction * cell.to_m,
    coalesce(sum(s.quantity_here) filter (where not s.is_held), 0) / base_per_unit(r.dimension::text, i.unit), cell.from_m,
    coalesce(sum(s.quantity_here) filter (where s.is_held), 0) / base_per_unit(r.dimension::text, i.unit)
  from share s
  cross join lateral (
    select greatest(s.n * interval_m - s.origin_m, 0) as from_m, least((s.n + 1) * interval_m - s.origin_m, s.length_m) as to_m where s.n is not null
    union all select null, null where s.n is null
  ) cell
  join pay_item i on i.id = s.pay_item_id
  join bill b on b.id = i.bill_id
  join measurement_rule r on r.pay_item_id = i.id
  group by b.version, i.reference, i.unit, cell.from_m, cell.to_m, s.start_chainage_m, s.direction, r.dimension;
end;

comment on function valuation_by_interval(text, text, int, numeric) is
  'What a valuation measures to date by pay item and intervals of chainage [m], in the item''s unit, not rounded; held_quantity is apart from quantity; null: no place.';
