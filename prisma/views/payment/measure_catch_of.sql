-- Which records each rule of a drive's bills covers, and what one unit of such a record measures under it: one row per rule, support item or kind of
-- activity, and kind of ground. A record is matched by three numbers: match (a support item's, -1 advance, -2 probing, -5 holes and -6 mixes of
-- grouting, below -9 an activity code's), version of the bill in order of their first days, kind of ground (see measure_ground_of).
-- zones and parties are compared with the record's part_name and party (see measured_part_in): for probing they are the methods, for grouting the
-- materials and purposes. class_code is the class by which the rule counts the record. in_dispute: the rule depends on classes and counts the record
-- only by the class given to the place by a decision that is not agreed, or a note that is not countersigned; if the class that pays counts it too,
-- nothing is in dispute. An empty only_reference: for all items.
create or replace function measure_catch_of(drive_id int, only_reference text, class_codes text[], bases text[], lithologies text[],
  contested_class_codes text[], contested jsonb[])
returns table (match int, version int, kind int, pay_item_id int, reference text, source text, dimension text, class_code text, in_dispute boolean, basis text,
  contested jsonb, zones text[], parties text[], factor numeric, per_unit numeric, by_thickness boolean, pay_diameter_m numeric,
    theoretical_thickness_mm numeric)
language sql stable strict rows 10 begin atomic
  with version as materialized (
    select b.id, row_number() over (order by b.valid_from)::int as n from bill b where b.drive_id = measure_catch_of.drive_id
  ), rule as materialized (
    select i.id as pay_item_id, i.reference, r.source::text as source, r.dimension::text as dimension, r.items, r.kinds,
      coalesce(r.zones, r.methods, r.materials) as zones,
      r.classes, r.lithologies, r.activities, r.time_classes, coalesce(r.parties, r.purposes) as parties, v.n as version, r.pay_diameter_m,
        coalesce(r.pay_diameter_m, d.bored_diameter_m) as diameter_m,
      allowance_factor(r.allowance_percent) as factor, d.project_id
    from measurement_rule r
    join pay_item i on i.id = r.pay_item_id
    join version v on v.id = i.bill_id
    join drive d on d.id = r.drive_id
    where r.drive_id = measure_catch_of.drive_id and measure_catch_of.only_reference in ('', i.reference)
  ), matched as materialized (
    select rule.*, i.id as match, i.theoretical_thickness_mm, rule.dimension = 'volume' and i.unit::text = 'm2' as by_thickness,
      rule.factor * support_per_unit(rule.dimension, i.unit::text, i.length_m, i.mass_kg_per_m, i.mass_kg_per_m2, i.mass_kg, i.centre_line_diameter_m, 1)
        as per_unit
    from rule join support_item i on takes(rule.items, i.code) and takes(rule.kinds, i.kind::text)
    where rule.source = 'support' and i.project_id = rule.project_id
    union all
    select rule.*, case rule.source when 'advance' then -1 when 'probing' then -2 else case when rule.dimension in ('mass', 'volume') then -6 else -5 end end,
      null, false,
      rule.factor * case rule.source when 'advance' then bore_per_m(rule.dimension, rule.diameter_m) else 1 end
    from rule where rule.source in ('advance', 'probing', 'grouting')
    union all
    select rule.*, -10 - a.id, null, false, rule.factor
    from rule join activity_code a on takes(rule.activities, a.code) and takes(rule.time_classes, a.counts_as::text)
    where rule.source = 'time' and a.project_id = rule.project_id
  )
  select m.match, m.version, k.kind::int, m.pay_item_id, m.reference, m.source, m.dimension,
    coalesce(case when disputed.is_so then k.contested_class_code else k.class_code end, ''), disputed.is_so, case when not disputed.is_so then k.basis end,
    case when m.classes is not null then k.contested end, m.zones, m.parties, m.factor, m.per_unit, m.by_thickness,
    case when m.dimension in ('area', 'volume') and m.source = 'support' then m.pay_diameter_m end, m.theoretical_thickness_mm
  from matched m
  join unnest(measure_catch_of.class_codes, measure_catch_of.bases, measure_catch_of.lithologies, measure_catch_of.contested_class_codes,
        measure_catch_of.contested) with ordinality
      as k(class_code, basis, lithology, contested_class_code, contested, kind)
    on takes(m.lithologies, k.lithology)
      and (takes(m.classes, k.class_code) or k.contested_class_code = any (m.classes))
  cross join lateral (select m.classes is not null and coalesce(k.class_code <> all (m.classes), true) as is_so) disputed
  where m.source <> 'time' or k.kind = 1;
end;

comment on function measure_catch_of(int, text, text[], text[], text[], text[], jsonb[]) is
  'Which records each rule of a drive''s bills catches, by item of support or kind of activity and kind of ground (see measure_ground_of), and what one of '
  'their unit measures. [nr, m, m2, m3, kg, s]';
