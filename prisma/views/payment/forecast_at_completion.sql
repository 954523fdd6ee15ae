-- Expected quantities of the items at the end of a drive: what a valuation measures to date, plus what the remaining metres would bring by a baseline's
-- classes and the support per metre in their standards, or in the design sections on the way. It uses the newest version of the bill and the newest
-- revision of the lists; for a lump sum, what its progress under all versions leaves. basis states what the rest is based on: advance, standard support,
-- the rest of a lump sum, or nothing: probing, grouting and time have no standard.
create or replace function forecast_at_completion(project text, drive text, valuation int, baseline text)
returns table (bill_version text, reference text, description text, unit text, currency text, bill_quantity numeric, to_date_quantity numeric,
  held_quantity numeric, remaining_quantity numeric, forecast_quantity numeric, basis text, bill_amount numeric, to_date_amount numeric,
    forecast_amount numeric,
  remaining_m numeric, group_code text, group_title text, bill_position int, bill_valid_from date)
language sql stable begin atomic
  with asked as materialized (
    select v.id as valuation_id, v.drive_id, v.cut_off, d.bored_diameter_m, n.id as baseline_id,
      (select max(b.valid_from) from bill b where b.drive_id = d.id) as newest,
      coalesce((select max(o.to_m) from shift s join boring o on o.shift_id = s.id and o.drive_id = s.drive_id
        where s.drive_id = d.id and s.shift_date <= v.cut_off
          and (s.state::text = 'countersigned' or s.id = any ((select shift_ids from paid_by_silence_of(d.id))::int[]))), 0) as face_m
    from valuation v
    join drive d on d.id = v.drive_id
    join project p on p.id = d.project_id
    join baseline n on n.drive_id = d.id and n.name = forecast_at_completion.baseline
    where p.code = forecast_at_completion.project and d.code = forecast_at_completion.drive and v.number = forecast_at_completion.valuation
  ), ahead as materialized (
    select c.code as class_code, c.id as ground_class_id, i.lithology, greatest(i.from_m, a.face_m) as from_m, i.to_m
    from asked a join baseline_interval i on i.baseline_id = a.baseline_id and i.to_m > a.face_m join ground_class c on c.id = i.ground_class_id
  ), section as materialized (
    select h.class_code, h.lithology, s.id, metres_within(s.from_m, s.to_m, h.from_m, h.to_m) as length_m, h.from_m as piece_m
    from asked a
    join (select distinct on (d.drive_id, d.name) d.* from design_section d order by d.drive_id, d.name, d.valid_from desc nulls last) s
      on s.drive_id = a.drive_id
    join ahead h on s.from_m < h.to_m and s.to_m > h.from_m
  ), expected as ( -- by class and item: the demand of the standards where no section governs, and that of the sections
    select h.class_code, h.lithology, t.zone::text as zone, t.support_item_id,
      per_metre.quantity * (h.to_m - h.from_m - coalesce((select sum(s.length_m) from section s where s.piece_m = h.from_m), 0)) as quantity
    from ahead h
    join (select distinct on (v.ground_class_id) v.id, v.ground_class_id from standard_support v order by v.ground_class_id, v.valid_from desc nulls last) w
      on w.ground_class_id = h.ground_class_id
    join standard_support_item t on t.standard_support_id = w.id
    cross join asked
    cross join lateral (select demanded_per_m(t.quantity_per_m, t.pieces_per_row, t.spacing_m, t.around_spacing_m, t.from_deg, t.to_deg,
      asked.bored_diameter_m) as quantity) per_metre
    union all
    select s.class_code, s.lithology, t.zone::text, t.support_item_id, per_metre.quantity * s.length_m
    from section s
    join design_section_item t on t.design_section_id = s.id
    cross join asked
    cross join lateral (select demanded_per_m(t.quantity_per_m, t.pieces_per_row, t.spacing_m, t.around_spacing_m, t.from_deg, t.to_deg,
      asked.bored_diameter_m) as quantity) per_metre
  ), rest as (
    select i.id as pay_item_id,
      (select coalesce(sum(h.to_m - h.from_m), 0) from ahead h
        where takes(r.classes, h.class_code) and takes(r.lithologies, h.lithology)) as length_m,
      (select sum(e.quantity * support_per_unit(r.dimension::text, t.unit::text, t.length_m, t.mass_kg_per_m, t.mass_kg_per_m2, t.mass_kg,
          t.centre_line_diameter_m, t.theoretical_thickness_mm))
        from expected e join support_item t on t.id = e.support_item_id
        where r.source::text = 'support' and takes(r.items, t.code) and takes(r.kinds, t.kind::text)
          and takes(r.zones, e.zone) and takes(r.classes, e.class_code)
          and takes(r.lithologies, e.lithology)) as supported,
      r.source::text as source, r.dimension::text as dimension, r.min_per_m, r.max_per_m, allowance_factor(r.allowance_percent) as factor,
      coalesce(r.pay_diameter_m, a.bored_diameter_m) as diameter_m, base_per_unit(r.dimension::text, i.unit) as per_unit
    from asked a
    join bill b on b.drive_id = a.drive_id and b.valid_from = a.newest
    join pay_item i on i.bill_id = b.id
    left join measurement_rule r on r.pay_item_id = i.id
  ), remaining as (
    select r.pay_item_id, case r.source
        when 'advance' then r.length_m * r.factor * bore_per_m(r.dimension, r.diameter_m)
        when 'support' then greatest(least(coalesce(r.supported, 0) * r.factor, r.max_per_m * r.length_m * r.per_unit),
          coalesce(r.min_per_m, 0) * r.length_m * r.per_unit) end / r.per_unit as quantity,
      case r.source when 'advance' then 'advance' when 'support' then 'standard support' when 'lump' then 'rest of the lump sum' end as basis
    from rest r
  ), entry as (
    select l.pay_item_id, l.bill_version, l.bill_valid_from, l.reference, l.group_code, l.group_title, l.position, l.description, l.unit, l.decimals, l.rate,
      l.currency, l.minor_units, l.bill_quantity, l.to_date_quantity, l.held_quantity, l.to_date_amount
    from asked a join valuation_line l on l.valuation_id = a.valuation_id
    union all -- a version that begins after the cut-off has no line yet
    select i.id, b.version, b.valid_from, i.reference, i.group_code, i.group_title, i.position, i.description, i.unit, i.decimals, i.rate,
      b.currency, b.minor_units, i.quantity, 0, 0, 0
    from asked a join bill b on b.drive_id = a.drive_id and b.valid_from = a.newest and b.valid_from > a.cut_off join pay_item i on i.bill_id = b.id
  ), line as (
    select e.*, f.basis as rest_basis, round(case when f.basis = 'rest of the lump sum' then e.bill_quantity
        * greatest(1 - coalesce(sum(e.to_date_quantity / nullif(e.bill_quantity, 0)) filter (where r.source::text = 'lump') over (partition by e.reference), 0),
          0)
      else coalesce(f.quantity, 0) end, e.decimals) as remaining
    from entry e
    left join measurement_rule r on r.pay_item_id = e.pay_item_id
    left join remaining f on f.pay_item_id = e.pay_item_id
  )
  select l.bill_version, l.reference, l.description, l.unit, l.currency, l.bill_quantity, round(l.to_date_quantity, l.decimals),
    round(l.held_quantity, l.decimals), l.remaining,
    round(l.to_date_quantity + l.remaining, l.decimals), l.rest_basis, round(l.bill_quantity * l.rate, l.minor_units), round(l.to_date_amount, l.minor_units),
    round((l.to_date_quantity + l.remaining) * l.rate, l.minor_units), (select coalesce(sum(to_m - from_m), 0) from ahead), l.group_code, l.group_title,
      l.position,
    l.bill_valid_from
  from line l;
end;

comment on function forecast_at_completion(text, text, int, text) is
  'What the items of a drive come to at its end: to date by a valuation, and the metres that remain by a baseline''s classes and the standard support. [unit '
  'of the item; currency; m]';
