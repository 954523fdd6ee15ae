-- Which items of a drive's bills are rounded together: those of one version that divide the same records by ground class or lithology, and
-- pay none of them twice. One row per item and its group; an item that divides with no other is in no group.
--
-- Two rules form a pair if they measure the same property of the same support items and zones, methods, purposes or materials, or of the same kind of
-- record. They divide what they measure if no ground belongs to both, and pay it twice if some does, as where supply and installation are separate
-- items. All rules connected by dividing form one family. In the order of the bill, each rule takes the first group in its family in which it pays
-- nothing twice.
create or replace function rounded_together(drive_id int)
returns table (pay_item_id int, group_number int, reference_list text[])
language sql stable strict rows 100 begin atomic
  with recursive rule as materialized (
    select row_number() over (order by b.valid_from, i.position)::int as n, i.id as pay_item_id, i.reference, i.bill_id, r.source, r.dimension,
      coalesce(r.allowance_percent, 0) as allowance_percent, coalesce(r.pay_diameter_m, 0) as pay_diameter_m, r.zones, r.methods, r.purposes, r.materials,
        r.classes, r.lithologies,
      case when r.source::text = 'support' then array(
        select t.id from support_item t
        where t.project_id = r.project_id and takes(r.items, t.code) and takes(r.kinds, t.kind::text)
      ) end as item_ids
    from measurement_rule r
    join pay_item i on i.id = r.pay_item_id
    join bill b on b.id = i.bill_id
    where r.drive_id = rounded_together.drive_id and r.source::text in ('advance', 'support', 'probing', 'grouting')
  ), pair as materialized (
    select a.n, o.n as other, (a.classes is null or o.classes is null or a.classes && o.classes)
      and (a.lithologies is null or o.lithologies is null or a.lithologies && o.lithologies) as pays_twice
    from rule a
    join rule o on o.bill_id = a.bill_id and o.source = a.source and o.dimension = a.dimension and o.allowance_percent = a.allowance_percent
      and o.pay_diameter_m = a.pay_diameter_m and o.n <> a.n
    where (a.item_ids is null or a.item_ids && o.item_ids) and (a.zones is null or o.zones is null or a.zones && o.zones)
      and (a.methods is null or o.methods is null or a.methods && o.methods) and (a.purposes is null or o.purposes is null or a.purposes && o.purposes)
      and (a.materials is null or o.materials is null or a.materials && o.materials)
  ), reached as (
    select distinct p.n, p.n as first from pair p where not p.pays_twice
    union
    select p.other, r.first from reached r join pair p on p.n = r.n and not p.pays_twice
  ), family as materialized (
    select r.n, min(r.first) as first from reached r group by r.n
  ), placed as (
    select 0 as n, '{}'::int[] as places
    union all
    select p.n + 1, p.places || (
      select min(place) from generate_series(1, p.n + 1) place
      where not exists (
        select from pair t join family f on f.n = t.n join family o on o.n = t.other
        where t.n = p.n + 1 and t.other <= p.n and t.pays_twice and f.first = o.first and p.places[t.other] = place
      ))
    from placed p where p.n < (select max(n) from rule)
  ), seated as (
    select f.first, p.place, f.n from family f
    join unnest((select places from placed order by n desc limit 1)) with ordinality p(place, n) on p.n = f.n
  ), joined as (
    select s.n, dense_rank() over (order by s.first, s.place)::int as group_number, count(*) over (partition by s.first, s.place) as size from seated s
  )
  select r.pay_item_id, j.group_number, array_agg(r.reference) over (partition by j.group_number
    order by r.n rows between unbounded preceding and unbounded following)
  from joined j join rule r on r.n = j.n
  where j.size > 1;
end;

comment on function rounded_together(int) is
  'Items of a drive''s bills that divide the same records by ground class or lithology and are rounded together, one row per item: the number of its group, '
  'and the references in it in the order of the bill.';
