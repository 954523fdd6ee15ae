-- What the rules of a drive's bills measure until a day, one row an item, record and cell of the ground. A record is measured by the
-- version of the bill that counts on its date, in the base unit of what the rule measures: nr, m, m2, m3, kg, s; a lump sum in
-- its item's unit. in_dispute: the rule asks for classes and counts the record only by the class that a decision not agreed, or a note not
-- countersigned, gives the cell; where the class that pays counts it too, nothing is in dispute. class_code is the class by which the
-- rule counts it. quantity is null where the record lacks what the rule asks for. pieces tells that it goes with the pieces of its line, whose place
-- is that of the columns after it; a part in which none stands is left out. is_whole: the item counts the record in this row alone.
-- What depends on the rule and the item alone is worked out once for them; the version that counts is found among the sorted days by halving.
create or replace function measured_part_of(drive_id int, until date)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, in_dispute boolean, shift_date date, shift_name text,
  from_m numeric, to_m numeric, quantity numeric, basis text, contested jsonb, pieces numeric, line_from_m numeric, line_to_m numeric,
  positions_m numeric[], is_whole boolean)
language sql stable begin atomic
  with version as materialized (
    select b.id, b.valid_from, lead(b.valid_from, 1, 'infinity') over (order by b.valid_from) as next_from, row_number() over (order by b.valid_from) as n
    from bill b where b.drive_id = measured_part_of.drive_id
  ), start as materialized (
    select array_agg(v.valid_from order by v.n) as days from version v
  ), rule as materialized (
    select i.id as pay_item_id, i.reference, i.quantity as bill_quantity, r.source::text as source, r.dimension::text as dimension, r.items, r.kinds,
      r.zones, r.classes, r.lithologies, r.activities, r.time_classes, r.parties, v.valid_from, v.next_from, v.n as version, r.pay_diameter_m,
      coalesce(r.pay_diameter_m, d.bored_diameter_m) as diameter_m, 1 + coalesce(r.allowance_percent, 0) / 100 as factor
    from measurement_rule r
    join pay_item i on i.id = r.pay_item_id
    join version v on v.id = i.bill_id
    join drive d on d.id = r.drive_id
    where r.drive_id = measured_part_of.drive_id
  ), catch as materialized ( -- which rules a record may fall under, by its item or its source (below 0), and what one of its unit measures under them
    select rule.*, i.id as match, i.theoretical_thickness_mm,
      rule.pay_diameter_m is not null and rule.dimension in ('area', 'volume') as by_diameter,
      rule.dimension = 'volume' and i.unit::text = 'm2' as by_thickness,
      rule.factor * support_per_unit(rule.dimension, i.unit::text, i.length_m, i.mass_kg_per_m, i.mass_kg_per_m2, i.mass_kg, i.centre_line_diameter_m, 1)
        as per_unit
    from rule join support_item i on (rule.items is null or i.code = any (rule.items)) and (rule.kinds is null or i.kind::text = any (rule.kinds))
    where rule.source = 'support' and i.project_id = (select d.project_id from drive d where d.id = measured_part_of.drive_id)
    union all
    select rule.*, case rule.source when 'advance' then -1 when 'probing' then -2 when 'time' then -3 end, null, false, false,
      rule.factor * case rule.source when 'advance' then bore_per_m(rule.dimension, rule.diameter_m) else 1 end
    from rule where rule.source in ('advance', 'probing', 'time')
  ), caught as (
    select c.pay_item_id, c.reference, m.source, m.source_key, m.class_code as paid_class_code, m.contested_class_code, m.shift_date, m.shift_name, m.from_m, m.to_m,
      c.classes is not null and coalesce(m.class_code <> all (c.classes), true) as in_dispute, m.class_basis as basis,
      case when c.classes is not null then m.contested end as contested,
      case
        when m.source = 'probing' and c.dimension = 'count' then c.factor
        when c.by_diameter then
          c.factor * (m.arc_deg / 360 * 3.14159265358979323846 * c.pay_diameter_m * nullif(m.to_m - m.from_m, 0)
            * case c.dimension when 'volume' then coalesce(c.theoretical_thickness_mm, m.thickness_mm) / 1000 else 1 end)
        when c.by_thickness then c.per_unit * m.quantity * coalesce(m.thickness_mm, c.theoretical_thickness_mm)
        else c.per_unit * m.quantity
      end as quantity,
      case when c.dimension not in ('area', 'volume') then m.pieces end as pieces, m.line_from_m, m.line_to_m, m.positions_m, m.is_whole
    from measurable_of(measured_part_of.drive_id, measured_part_of.until, null) m
    join catch c on c.match = case m.source when 'support' then m.support_item_id when 'advance' then -1 when 'probing' then -2 when 'time' then -3 end
      and c.version = width_bucket(m.shift_date, (select days from start))
    where (c.zones is null or m.zone = any (c.zones))
      and (c.classes is null or m.class_code = any (c.classes) or m.contested_class_code = any (c.classes))
      and (c.lithologies is null or m.lithology = any (c.lithologies))
      and (c.activities is null or m.activity_code = any (c.activities))
      and (c.time_classes is null or m.time_class = any (c.time_classes))
      and (c.parties is null or m.party = any (c.parties))
      and (m.pieces is null or m.quantity > 0 or c.dimension in ('area', 'volume'))
    union all
    -- a lump sum by what each entry of its progress adds to the one before
    select r.pay_item_id, r.reference, 'lump', 'lump/' || l.reference || '/' || l.day, null, null, l.day, null, null, null, false, null, null, r.bill_quantity * l.added / 100,
      null, null, null, null, false
    from (
      select p.reference, p.day, p.percent - lag(p.percent, 1, 0) over (partition by p.reference order by p.day) as added
      from lump_progress p where p.drive_id = measured_part_of.drive_id and p.day <= measured_part_of.until
    ) l
    join rule r on r.reference = l.reference and r.source = 'lump' and l.day >= r.valid_from and l.day < r.next_from
  )
  select pay_item_id, reference, source, source_key, coalesce(case when in_dispute then contested_class_code else paid_class_code end, ''), in_dispute,
    shift_date, shift_name, from_m, to_m, quantity, case when not in_dispute then basis end, contested, pieces, line_from_m, line_to_m, positions_m, is_whole
  from caught;
end;

comment on function measured_part_of(int, date) is
  'What the rules of a drive''s bills measure until a day, by item, record and cell of the ground, in base units (nr, m, m2, m3, kg, s); null: the record lacks what the rule asks for.';
