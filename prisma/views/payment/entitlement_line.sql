-- The lines of a basis of time entitlement, tendered against actual, with one horizon for all of them. The length that counts is that bored by
-- countersigned shifts; quantities are those in countersigned shifts. to_date: what was tendered for that length against what was encountered and
-- done on it. at_completion: the whole drive, assuming that the rest goes as tendered. So the difference is the same with either.
-- Classes first: the baseline's metres against those of the governing class, both at the baseline's rates; a place without a class, or noted by a
-- shift that is not countersigned, counts as the baseline expects. A class that has an item is counted by that item alone.
-- Then the items. The tendered quantity of an item to date is its driven share, tendered · counted length / length of the drive; for an item of class
-- metres in the baseline, tendered · the baseline's metres of the class on the counted length / on the drive. Quotients are not rounded: round what is
-- shown, once.
create or replace function entitlement_line(project text, drive text, entitlement text, horizon text)
returns table (
  line int, kind text, code text, source text, reference text, unit text, advance_rate_m_per_d numeric, hours_per_unit numeric,
  tendered_quantity numeric, actual_quantity numeric, agreed_quantity numeric, tendered_hours numeric, actual_hours numeric, difference_hours numeric,
  tendered_days numeric, actual_days numeric, drive_id int, whole_tendered_quantity numeric, whole_tendered_hours numeric, tendered_to_date_by text)
language sql stable begin atomic
  with basis as materialized (
    select e.id, e.drive_id, e.baseline_id, b.name as baseline, b.working_hours_per_day, drive_length(d.start_chainage_m, d.end_chainage_m) as length_m,
      l.counted, coalesce(l.counted_m, 0.000) as counted_m
    from entitlement e
    join drive d on d.id = e.drive_id
    join project p on p.id = d.project_id
    left join baseline b on b.id = e.baseline_id
    left join entitlement_length l on l.drive_id = e.drive_id
    where p.code = entitlement_line.project and d.code = entitlement_line.drive and e.name = entitlement_line.entitlement
  ), item as materialized (
    select i.* from basis join entitlement_item i on i.entitlement_id = basis.id
  ), provisional as materialized ( -- where a shift that is not countersigned noted the class: that is one person's word, so the baseline's class counts
    select coalesce(range_agg(numrange(r.from_m, r.to_m)), '{}') as place
    from basis cross join lateral governing_class_of(basis.drive_id) r where r.is_countersigned = false
  ), strip as materialized (
    select s.baseline_class_code, k.governing_class_code, k.basis, length_within(s.from_m, s.to_m, k.place) as length_m
    from basis cross join provisional p
    cross join lateral baseline_strip(entitlement_line.project, entitlement_line.drive, basis.baseline) s
    cross join lateral (values (s.governing_class_code, s.basis, basis.counted - p.place), (null, null, basis.counted * p.place))
      k(governing_class_code, basis, place)
  ), met as (
    select m.code, sum(m.expected_m) as expected_m, sum(m.met_m) as met_m, sum(m.agreed_m) as agreed_m
    from (
      select s.baseline_class_code as code, s.length_m as expected_m, 0.000 as met_m, 0.000 as agreed_m from strip s
      union all
      select coalesce(s.governing_class_code, s.baseline_class_code), 0.000, s.length_m, case when s.basis = 'agreed' then s.length_m else 0.000 end
        from strip s
    ) m
    group by m.code
  ), class as materialized (
    select coalesce(c.ground_class_code, met.code) as code, coalesce(c.length_m, 0.000) as whole_m, coalesce(met.expected_m, 0.000) as expected_m,
      coalesce(met.met_m, 0.000) as met_m, coalesce(met.agreed_m, 0.000) as agreed_m, c.advance_rate_m_per_d
    from (select k.* from basis join baseline_class k on k.baseline_id = basis.baseline_id) c
    full join met on met.code = c.ground_class_code
  ), counted as (
    select (select count(*) from class k where not exists (select from item j where j.source = 'class_metres' and j.reference = k.code))::int
        + (row_number() over (order by i.line))::int as line,
      i.code, i.source::text as source, nullif(i.reference, '') as reference, i.hours_per_unit, i.tendered_quantity as whole_quantity,
      case i.source
        when 'support_item' then (select s.unit::text from support_item s where s.code = i.reference and s.project_id = i.project_id)
        when 'activity_hours' then 'h' else 'm' end as unit,
      case when of_class.whole_m > 0 then 'baseline_share' else 'driven_share' end as tendered_to_date_by,
      i.tendered_quantity * case when of_class.whole_m > 0 then of_class.expected_m / of_class.whole_m else basis.counted_m / basis.length_m end
        as expected_quantity,
      coalesce(case i.source
        when 'support_item' then (
          select sum(r.quantity) from support_installed r join shift s on s.id = r.shift_id join support_item k on k.id = r.support_item_id
          where r.drive_id = basis.drive_id and s.state = 'countersigned' and k.code = i.reference)
        when 'probe_metres' then (
          select sum(h.length_m) from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id
          where h.drive_id = basis.drive_id and r.shift_state = 'countersigned')
        when 'activity_hours' then (
          select sum(extract(epoch from a.ended_at - a.started_at)) / 3600
          from activity a join shift s on s.id = a.shift_id join activity_code k on k.id = a.activity_code_id
          where a.drive_id = basis.drive_id and s.state = 'countersigned' and k.code = i.reference)
        when 'class_metres' then (
          select sum(length_within(r.from_m, r.to_m, basis.counted)) from governing_class_of(basis.drive_id) r
          where r.ground_class_code = i.reference and r.is_countersigned is not false)
      end, 0.000) as done_quantity
    from basis
    cross join item i
    left join class of_class on i.source = 'class_metres' and of_class.code = i.reference
  ), compared as (
    select (row_number() over (order by c.code))::int as line, 'class' as kind, c.code, null::text as source, c.code as reference, 'm' as unit,
      c.advance_rate_m_per_d, basis.working_hours_per_day / c.advance_rate_m_per_d as hours_per_unit, c.whole_m as whole, c.expected_m as expected,
      c.met_m as done, c.agreed_m as agreed, 'baseline' as tendered_to_date_by
    from basis cross join class c
    where not exists (select from item i where i.source = 'class_metres' and i.reference = c.code)
    union all
    select i.line, 'item', i.code, i.source, i.reference, i.unit, null, i.hours_per_unit, i.whole_quantity, i.expected_quantity, i.done_quantity, null,
      i.tendered_to_date_by
    from counted i
  ), chosen as (
    select c.*, case entitlement_line.horizon when 'to_date' then c.expected when 'at_completion' then c.whole end as tendered,
      case entitlement_line.horizon when 'to_date' then c.done when 'at_completion' then c.whole - c.expected + c.done end as actual
    from compared c
  )
  select c.line, c.kind, c.code, c.source, c.reference, c.unit, c.advance_rate_m_per_d, c.hours_per_unit, c.tendered, c.actual, c.agreed,
    case c.kind when 'class' then c.tendered / c.advance_rate_m_per_d * basis.working_hours_per_day else c.tendered * c.hours_per_unit end,
    case c.kind when 'class' then c.actual / c.advance_rate_m_per_d * basis.working_hours_per_day else c.actual * c.hours_per_unit end,
    case c.kind when 'class' then (c.done - c.expected) / c.advance_rate_m_per_d * basis.working_hours_per_day
      else (c.done - c.expected) * c.hours_per_unit end,
    c.tendered / c.advance_rate_m_per_d, c.actual / c.advance_rate_m_per_d, basis.drive_id, c.whole,
    case c.kind when 'class' then c.whole / c.advance_rate_m_per_d * basis.working_hours_per_day else c.whole * c.hours_per_unit end,
    c.tendered_to_date_by
  from basis cross join chosen c;
end;

comment on function entitlement_line(text, text, text, text) is
  'Lines of a basis of time entitlement over a horizon (to_date, at_completion), tendered against actual in hours, not rounded. kind class: metres of the '
  'baseline''s class at its rate [m, m/d, h, d], agreed_quantity the counted metres whose class is agreed; kind item: quantity times hours per unit [unit, '
  'h]. Only what countersigned shifts hold counts. tendered_to_date_by: how the tendered quantity to date was found (baseline, baseline_share, driven_share). '
  'Hours are null where a class was met that has no rate. Decision support: the contract and its time-bar rules prevail.';
