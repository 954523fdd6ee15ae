-- What the rules of a drive measure until a day, checked: what each rule catches (part rule; one that catches nothing has a row too), what
-- nothing is paid for (unmeasured), pairs of items whose rules catch the same records (twice), and sets of items that are rounded together
-- though they have different decimals (decimals). The record is measured once for all of them.
-- Nothing is paid for what countersigned shifts hold and no rule catches, and for probe holes that no countersigned shift holds. A hole
-- without a time of drilling has no day, and is among them whatever the day.
create or replace function measure_check_of(project text, drive text, until date)
returns table (part text, bill_version text, reference text, other_reference text, unit text, record_count int, quantity numeric, held_quantity numeric,
  incomplete_count int, source text, code text, first_key text, last_key text, reason text, reference_list text[], step numeric)
language sql stable strict rows 100 begin atomic
  with place as materialized (
    select d.id, p.time_zone, p.day_start from drive d join project p on p.id = d.project_id
    where p.code = measure_check_of.project and d.code = measure_check_of.drive
  ), measured as materialized (
    select m.pay_item_id, m.source, m.source_key, m.in_dispute, m.match, m.quantity, m.quantity > 0 and (m.reference, m.source_key) in (
        select q.reference, q.source_key from quantity_dispute q where q.drive_id in (select id from place) and q.settled_at is null) as is_disputed
    from place cross join lateral measured_part_of(place.id, measure_check_of.until, '', true) m
    union all
    select m.pay_item_id, m.source, m.source_key, m.in_dispute, m.match, m.quantity, m.quantity > 0 and (m.reference, m.source_key) in (
        select q.reference, q.source_key from quantity_dispute q where q.drive_id in (select id from place) and q.settled_at is null)
    from place cross join lateral lump_part_of(place.id, measure_check_of.until, '') m
  ), record as materialized ( -- by record, the items that pay it, and those that hold it
    select m.source, m.source_key, min(m.match) as match, count(m.pay_item_id) as part_count,
      array_agg(m.pay_item_id order by m.pay_item_id) filter (where m.pay_item_id is not null and not m.in_dispute) as item_ids
    from measured m group by m.source, m.source_key
  ), caught as (
    select m.pay_item_id, count(*)::int as record_count, count(*) filter (where m.is_incomplete)::int as incomplete_count, sum(m.quantity) as quantity,
      sum(m.held_quantity) as held_quantity
    from (
      select m.pay_item_id, bool_or(m.quantity is null) as is_incomplete, sum(m.quantity) filter (where not m.in_dispute and not m.is_disputed) as quantity,
        sum(m.quantity) filter (where m.in_dispute or m.is_disputed) as held_quantity
      from measured m where m.pay_item_id is not null group by m.pay_item_id, m.source_key
    ) m
    group by m.pay_item_id
  ), missed as (
    select r.source, coalesce((select i.code from support_item i where i.id = r.match), (select a.code from activity_code a where a.id = -10 - r.match)) as code,
      r.source_key, 'no_rule' as reason
    from record r where r.part_count = 0
    union all
    select 'probing', null, 'probe-hole/' || h.name, 'no_countersigned_shift'
    from place
    join probe_hole h on h.drive_id = place.id
    join probe_hole_reading r on r.probe_hole_id = h.id
    where r.shift_state is distinct from 'countersigned'
      and coalesce(production_day(h.drilled_at, place.time_zone, place.day_start) <= measure_check_of.until, true)
  ), several as ( -- few kinds of them
    select r.item_ids, count(*) as record_count, min(r.source_key collate "C") as first_key
    from record r where r.source <> 'lump' and r.item_ids[1] < r.item_ids[cardinality(r.item_ids)] group by r.item_ids
  ), pair as (
    select distinct s.item_ids, s.record_count, s.first_key, a.id, o.id as other_id
    from several s cross join lateral unnest(s.item_ids) a(id) cross join lateral unnest(s.item_ids) o(id)
  )
  select 'rule', b.version, i.reference, null::text, i.unit, coalesce(c.record_count, 0), coalesce(c.quantity, 0) / base_per_unit(r.dimension::text, i.unit),
    coalesce(c.held_quantity, 0) / base_per_unit(r.dimension::text, i.unit), coalesce(c.incomplete_count, 0), null::text, null::text, null::text, null::text,
    null::text, null::text[], null::numeric
  from place
  join measurement_rule r on r.drive_id = place.id
  join pay_item i on i.id = r.pay_item_id
  join bill b on b.id = i.bill_id
  left join caught c on c.pay_item_id = i.id
  union all
  select 'unmeasured', null, null, null, null, count(distinct m.source_key)::int, null, null, null, m.source, m.code, min(m.source_key collate "C"),
    max(m.source_key collate "C"), m.reason, null, null
  from missed m group by m.source, m.code, m.reason
  union all
  select 'twice', b.version, i.reference, o.reference, null, sum(p.record_count)::int, null, null, null, null, null, min(p.first_key collate "C"), null, null, null, null
  from pair p
  join pay_item i on i.id = p.id
  join pay_item o on o.id = p.other_id and o.reference collate "C" > i.reference collate "C"
  join bill b on b.id = i.bill_id
  group by b.version, i.reference, o.reference
  union all
  select 'decimals', b.version, min(i.reference), null, null, null, null, null, null, null, null, null, null, null, t.reference_list,
    max(base_per_unit(r.dimension::text, i.unit) * power(10::numeric, -i.decimals))
  from place
  cross join lateral rounded_together(place.id) t
  join pay_item i on i.id = t.pay_item_id
  join bill b on b.id = i.bill_id
  join measurement_rule r on r.pay_item_id = i.id
  group by b.version, t.group_number, t.reference_list
  having count(distinct base_per_unit(r.dimension::text, i.unit) * power(10::numeric, -i.decimals)) > 1;
end;

comment on function measure_check_of(text, text, date) is
  'What the rules of a drive measure until a day, checked; part: rule, unmeasured, twice or decimals, which are measured_by_rule, unmeasured, measured_twice and mixed_decimals.';

-- What each rule of a drive catches until a day; a rule that catches nothing has a row too.
create or replace function measured_by_rule(project text, drive text, until date)
returns table (bill_version text, reference text, unit text, record_count int, quantity numeric, held_quantity numeric, incomplete_count int)
language sql stable begin atomic
  select c.bill_version, c.reference, c.unit, c.record_count, c.quantity, c.held_quantity, c.incomplete_count
  from measure_check_of(measured_by_rule.project, measured_by_rule.drive, measured_by_rule.until) c where c.part = 'rule';
end;

comment on function measured_by_rule(text, text, date) is 'What each rule of a drive catches until a day: records, quantity in the item''s unit, what is held, and records that lack what the rule asks for.';

-- What nothing is paid for until a day, by what it is.
create or replace function unmeasured(project text, drive text, until date)
returns table (source text, code text, record_count int, first_key text, last_key text, reason text)
language sql stable begin atomic
  select c.source, c.code, c.record_count, c.first_key, c.last_key, c.reason
  from measure_check_of(unmeasured.project, unmeasured.drive, unmeasured.until) c where c.part = 'unmeasured';
end;

comment on function unmeasured(text, text, date) is 'Records until a day that nothing is paid for, by source, support item or activity code, and reason: no_rule, no rule catches what a countersigned shift holds; no_countersigned_shift, a probe hole that no countersigned shift holds.';

-- Pairs of items whose rules catch the same records. Often meant, as where supply and installation are items of their own. What is held is
-- paid by another item meanwhile, and not among them.
create or replace function measured_twice(project text, drive text, until date)
returns table (bill_version text, reference text, other_reference text, record_count int, first_key text)
language sql stable begin atomic
  select c.bill_version, c.reference, c.other_reference, c.record_count, c.first_key
  from measure_check_of(measured_twice.project, measured_twice.drive, measured_twice.until) c where c.part = 'twice';
end;

comment on function measured_twice(text, text, date) is 'Pairs of items whose rules catch the same records until a day, with their number and the first of them.';

-- Sets of items that divide the same records and have different decimals: what is paid of all of them is whole in the coarsest.
create or replace function mixed_decimals(project text, drive text, until date)
returns table (bill_version text, reference_list text[], step numeric)
language sql stable begin atomic
  select c.bill_version, c.reference_list, c.step
  from measure_check_of(mixed_decimals.project, mixed_decimals.drive, mixed_decimals.until) c where c.part = 'decimals';
end;

comment on function mixed_decimals(text, text, date) is
  'Items that are rounded together though they have different decimals: all of them to the step of the coarsest. [nr, m, m2, m3, kg]';
