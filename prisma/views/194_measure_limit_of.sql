-- What the limits per metre of the rules add to an item or take off it until a day: the difference between all that is measured under it and
-- the nearest that its limits allow over the metres that countersigned shifts bored in the rule's ground. Metres of a disputed class are
-- held apart as what is measured on them is.
create or replace function measure_limit_of(drive_id int, until date)
returns table (pay_item_id int, reference text, source text, length_m numeric, quantity numeric)
language sql stable begin atomic
  with bounded as materialized (
    select r.pay_item_id, i.reference, r.source::text as source, base_per_unit(r.dimension::text, i.unit) * r.min_per_m as min_per_m,
      base_per_unit(r.dimension::text, i.unit) * r.max_per_m as max_per_m, r.classes, r.lithologies, b.valid_from,
      (select min(n.valid_from) from bill n where n.drive_id = b.drive_id and n.valid_from > b.valid_from) as next_from
    from measurement_rule r join pay_item i on i.id = r.pay_item_id join bill b on b.id = i.bill_id
    where r.drive_id = measure_limit_of.drive_id and (r.min_per_m is not null or r.max_per_m is not null)
  ), bored as (
    select l.pay_item_id, sum(a.quantity) as length_m
    from bounded l
    join measurable_of(measure_limit_of.drive_id, measure_limit_of.until, 'advance') a
      on a.shift_date >= l.valid_from and (l.next_from is null or a.shift_date < l.next_from)
      and (l.classes is null or (a.class_code = any (l.classes) and a.class_basis is distinct from 'disputed')) and (l.lithologies is null or a.lithology = any (l.lithologies))
    group by l.pay_item_id
  ), measured as (
    select m.pay_item_id, sum(m.quantity) as quantity from measured_of(measure_limit_of.drive_id, measure_limit_of.until) m
    where exists (select from bounded) group by m.pay_item_id
  )
  select l.pay_item_id, l.reference, l.source, f.length_m, f.quantity
  from bounded l
  left join bored b on b.pay_item_id = l.pay_item_id
  left join measured m on m.pay_item_id = l.pay_item_id
  cross join lateral (
    select coalesce(b.length_m, 0) as length_m, round(greatest(least(coalesce(m.quantity, 0), l.max_per_m * coalesce(b.length_m, 0)),
      coalesce(l.min_per_m, 0) * coalesce(b.length_m, 0)) - coalesce(m.quantity, 0), 9) as quantity
  ) f
  where f.quantity <> 0;
end;

comment on function measure_limit_of(int, date) is
  'What the limits per metre add to an item or take off it until a day, over the metres bored in the rule''s ground. [m; nr, m, m2, m3, kg]';
