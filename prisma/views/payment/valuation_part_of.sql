-- The quantities of a valuation to date, one row per item, record and stretch of one kind of ground, in base units: for a draft what its bills measure
-- now and what limits per metre add or deduct; for a certified valuation what was certified of each record until then. If a record still measures what
-- was certified, its pieces are known; otherwise its quantity is spread evenly between the ends that were certified. Held quantities are separate: for a
-- certified valuation what is held now if that equals what was held then, otherwise the same amount without a place.
create or replace function valuation_part_of(drive_id int, valuation int)
returns table (pay_item_id int, class_code text, from_m numeric, to_m numeric, quantity numeric, is_held boolean, total numeric, pieces numeric,
  line_from_m numeric, line_to_m numeric, positions_m numeric[])
language sql stable strict rows 100000 begin atomic
  with asked as materialized (
    select v.id, v.cut_off, v.number, v.state::text = 'certified' as is_certified
    from valuation v where v.drive_id = valuation_part_of.drive_id and v.number = valuation_part_of.valuation
  ), part as materialized (
    select m.pay_item_id, m.source_key, m.class_code, m.from_m, m.to_m, m.quantity, m.total, m.pieces, m.line_from_m, m.line_to_m, m.positions_m,
      m.in_dispute or (m.quantity > 0 and (m.reference, m.source_key) in (
        select q.reference, q.source_key from quantity_dispute q where q.drive_id = valuation_part_of.drive_id and q.settled_at is null)) as is_held
    from (
      select m.* from asked cross join lateral measured_part_of(valuation_part_of.drive_id, asked.cut_off, '', false) m
      union all
      select l.* from asked cross join lateral lump_part_of(valuation_part_of.drive_id, asked.cut_off, '') l
    ) m
    where m.quantity is not null
  ), bound as materialized (
    select b.* from asked cross join lateral measure_bound_of(valuation_part_of.drive_id, asked.cut_off) b where not asked.is_certified
  ), summed as (
    select p.pay_item_id, sum(p.quantity) as quantity from part p where not p.is_held and exists (select from bound) group by p.pay_item_id
  ), certified as (
    select c.pay_item_id, c.source_key, c.class_code, sum(c.quantity) as quantity, min(c.from_m) as from_m, max(c.to_m) as to_m
    from asked join valuation v on v.drive_id = valuation_part_of.drive_id and v.state::text = 'certified' and v.number <= asked.number
    join certified_source c on c.valuation_id = v.id and c.drive_id = v.drive_id
    where asked.is_certified
    group by c.pay_item_id, c.source_key, c.class_code
  ), standing as (
    select p.pay_item_id, p.source_key, p.class_code, sum(p.quantity) as quantity from part p
    where not p.is_held and exists (select from asked where is_certified) group by p.pay_item_id, p.source_key, p.class_code
  ), compared as materialized ( -- a draft has none
    select coalesce(c.pay_item_id, s.pay_item_id) as pay_item_id, coalesce(c.source_key, s.source_key) as source_key,
      coalesce(c.class_code, s.class_code) as class_code,
      c.quantity, c.from_m, c.to_m, coalesce(c.quantity = s.quantity, false) as is_standing
    from certified c full join standing s on s.pay_item_id = c.pay_item_id and s.source_key = c.source_key and s.class_code = c.class_code
  ), moved as materialized (
    select m.pay_item_id, m.source_key, m.class_code from compared m where not m.is_standing
  ), held as ( -- in base units, for a certified valuation
    select l.pay_item_id, l.held_quantity * l.base_per_unit as quantity,
      round(coalesce(h.quantity, 0) / l.base_per_unit, i.decimals) = l.held_quantity as is_standing
    from asked join certified_line l on l.valuation_id = asked.id join pay_item i on i.id = l.pay_item_id
    left join (select p.pay_item_id, sum(p.quantity) as quantity from part p where p.is_held group by p.pay_item_id) h on h.pay_item_id = l.pay_item_id
    where asked.is_certified
  )
  select p.pay_item_id, p.class_code, p.from_m, p.to_m, p.quantity, p.is_held, p.total, p.pieces, p.line_from_m, p.line_to_m, p.positions_m
  from part p
  where not exists (select from asked where is_certified)
    or case when p.is_held then p.pay_item_id in (select h.pay_item_id from held h where h.is_standing)
      else (p.pay_item_id, p.source_key, p.class_code) not in (select m.pay_item_id, m.source_key, m.class_code from moved m) end
  union all
  select c.pay_item_id, c.class_code, c.from_m, c.to_m, c.quantity, false, c.quantity, null, c.from_m, c.to_m, null
  from compared c where not c.is_standing and c.quantity <> 0
  union all
  select h.pay_item_id, '', null, null, h.quantity, true, h.quantity, null, null, null, null from held h where not h.is_standing and h.quantity <> 0
  union all
  select b.pay_item_id, '', null, null, limited.quantity, false, limited.quantity, null, null, null, null
  from bound b left join summed s on s.pay_item_id = b.pay_item_id
  cross join lateral (select beyond_bounds(coalesce(s.quantity, 0), b.least_quantity, b.most_quantity) as quantity) limited
  where limited.quantity <> 0;
end;

comment on function valuation_part_of(int, int) is
  'What a valuation has to date by item, record and stretch of one kind of ground, in base units (nr, m, m2, m3, kg, s), what is held apart; they sum to its '
  'lines before these are rounded.';
