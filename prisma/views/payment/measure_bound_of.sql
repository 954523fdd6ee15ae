-- The bounds that limits per metre of the rules set for an item until a day, over the metres that countersigned shifts bored in the rule's ground, by
-- the class that pays: contested ground adds neither to the minimum nor to the maximum until it is agreed.
create or replace function measure_bound_of(drive_id int, until date)
returns table (pay_item_id int, reference text, source text, length_m numeric, least_quantity numeric, most_quantity numeric)
language sql stable strict rows 100 begin atomic
  with bounded as materialized (
    select r.pay_item_id, i.reference, r.source::text as source, base_per_unit(r.dimension::text, i.unit) * r.min_per_m as min_per_m,
      base_per_unit(r.dimension::text, i.unit) * r.max_per_m as max_per_m, r.classes, r.lithologies, b.valid_from,
      (select min(n.valid_from) from bill n where n.drive_id = b.drive_id and n.valid_from > b.valid_from) as next_from
    from measurement_rule r join pay_item i on i.id = r.pay_item_id join bill b on b.id = i.bill_id
    where r.drive_id = measure_bound_of.drive_id and (r.min_per_m is not null or r.max_per_m is not null)
  ), bored as materialized ( -- few rows: by day, class and lithology
    select * from bored_in_ground_of(measure_bound_of.drive_id, measure_bound_of.until) where exists (select from bounded)
  )
  select l.pay_item_id, l.reference, l.source, metres.length_m, coalesce(l.min_per_m, 0) * metres.length_m, l.max_per_m * metres.length_m
  from bounded l
  cross join lateral (
    select coalesce(sum(a.length_m), 0) as length_m from bored a
    where a.shift_date >= l.valid_from and (l.next_from is null or a.shift_date < l.next_from)
      and takes(l.classes, a.class_code) and takes(l.lithologies, a.lithology)
  ) metres;
end;

comment on function measure_bound_of(int, date) is
  'Between what the limits per metre hold an item until a day, over the metres bored in the rule''s ground; no most: null. [m; nr, m, m2, m3, kg]';
