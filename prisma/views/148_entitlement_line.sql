-- The lines of a basis of time entitlement. Classes first: the baseline's metres of the whole drive against the ruling class on the driven
-- part and the baseline on the ground ahead, both at the baseline's rates; a driven place without a class counts as the baseline expects. A
-- class with an item of its own is counted by that item alone. Then the items: tendered against actual quantity until now.
-- Quotients are not rounded: round what is shown, once.
create or replace function entitlement_line(project text, drive text, entitlement text)
returns table (
  line int, kind text, code text, source text, reference text, unit text, advance_rate_m_per_d numeric, hours_per_unit numeric,
  tendered_quantity numeric, actual_quantity numeric, agreed_quantity numeric, tendered_hours numeric, actual_hours numeric, difference_hours numeric,
  tendered_days numeric, actual_days numeric, drive_id int)
language sql stable begin atomic
  with basis as materialized (
    select e.id, e.drive_id, e.baseline_id, b.name as baseline, b.working_hours_per_day
    from entitlement e
    join drive d on d.id = e.drive_id
    join project p on p.id = d.project_id
    left join baseline b on b.id = e.baseline_id
    where p.code = entitlement_line.project and d.code = entitlement_line.drive and e.name = entitlement_line.entitlement
  ), item as materialized (
    select i.* from basis join entitlement_item i on i.entitlement_id = basis.id
  ), face as (
    select f.face_m from basis join drive_progress f on f.drive_id = basis.drive_id
  ), met as (
    select m.code, sum(m.length_m) as length_m, sum(m.agreed_m) as agreed_m
    from (
      select coalesce(s.ruling_class_code, s.baseline_class_code) as code, s.length_m, case when s.basis = 'agreed' then s.length_m else 0.000 end as agreed_m
      from basis cross join lateral baseline_strip(entitlement_line.project, entitlement_line.drive, basis.baseline) s
      union all
      select g.ground_class_code, g.to_m - greatest(g.from_m, face.face_m), 0.000
      from basis join baseline_ground g on g.baseline_id = basis.baseline_id cross join face where g.to_m > face.face_m
    ) m
    group by m.code
  ), class as (
    select coalesce(c.ground_class_code, met.code) as code, coalesce(c.length_m, 0.000) as tendered_m, coalesce(met.length_m, 0.000) as actual_m,
      coalesce(met.agreed_m, 0.000) as agreed_m, c.advance_rate_m_per_d
    from (select k.* from basis join baseline_class k on k.baseline_id = basis.baseline_id) c
    full join met on met.code = c.ground_class_code
    where not exists (select from item where item.source = 'class_metres' and item.reference = coalesce(c.ground_class_code, met.code))
  ), counted as (
    select i.line, i.code, i.source::text as source, nullif(i.reference, '') as reference, i.hours_per_unit, i.tendered_quantity,
      case i.source
        when 'support_item' then (select s.unit::text from support_item s where s.code = i.reference and s.project_id = i.project_id)
        when 'activity_hours' then 'h' else 'm' end as unit,
      coalesce(case i.source
        when 'support_item' then (select sum(t.quantity) from support_total t where t.drive_id = basis.drive_id and t.item_code = i.reference)
        when 'probe_metres' then (select sum(h.length_m) from probe_hole h where h.drive_id = basis.drive_id)
        when 'activity_hours' then (select sum(l.seconds) / 3600 from ledger_by_code l where l.drive_id = basis.drive_id and l.code = i.reference)
        when 'class_metres' then (
          select sum(least(r.to_m, face.face_m) - r.from_m) from face cross join lateral ruling_class_of(basis.drive_id) r
          where r.ground_class_code = i.reference and r.from_m < face.face_m)
      end, 0.000) as actual_quantity
    from basis cross join item i
  )
  select (row_number() over (order by c.code))::int, 'class', c.code, null::text, c.code, 'm', c.advance_rate_m_per_d,
    basis.working_hours_per_day / c.advance_rate_m_per_d, c.tendered_m, c.actual_m, c.agreed_m,
    c.tendered_m / c.advance_rate_m_per_d * basis.working_hours_per_day, c.actual_m / c.advance_rate_m_per_d * basis.working_hours_per_day,
    (c.actual_m - c.tendered_m) / c.advance_rate_m_per_d * basis.working_hours_per_day,
    c.tendered_m / c.advance_rate_m_per_d, c.actual_m / c.advance_rate_m_per_d, basis.drive_id
  from basis cross join class c
  union all
  select (select count(*) from class)::int + (row_number() over (order by i.line))::int, 'item', i.code, i.source, i.reference, i.unit, null, i.hours_per_unit,
    i.tendered_quantity, i.actual_quantity, null, i.tendered_quantity * i.hours_per_unit, i.actual_quantity * i.hours_per_unit,
    (i.actual_quantity - i.tendered_quantity) * i.hours_per_unit, null, null, basis.drive_id
  from basis cross join counted i;
end;

comment on function entitlement_line(text, text, text) is
  'Lines of a basis of time entitlement, tendered against actual in hours, not rounded. kind class: metres of the baseline''s class at its rate [m, m/d, h, d], agreed_quantity the driven metres whose class is agreed; kind item: quantity times hours per unit [unit, h]. Hours are null where a class was met that has no rate. Decision support: the contract and its time-bar rules prevail.';
