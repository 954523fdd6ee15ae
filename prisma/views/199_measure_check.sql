-- What each rule of a drive catches until a day; a rule that catches nothing has a row too.
create or replace function measured_by_rule(project text, drive text, until date)
returns table (bill_version text, reference text, unit text, record_count int, quantity numeric, held_quantity numeric, incomplete_count int)
language sql stable begin atomic
  with place as materialized (select d.id from drive d join project p on p.id = d.project_id where p.code = measured_by_rule.project and d.code = measured_by_rule.drive)
  select b.version, i.reference, i.unit, count(distinct m.source_key)::int, coalesce(sum(m.quantity), 0) / base_per_unit(r.dimension::text, i.unit),
    coalesce(sum(m.held_quantity), 0) / base_per_unit(r.dimension::text, i.unit), count(distinct m.source_key) filter (where m.incomplete)::int
  from place
  join measurement_rule r on r.drive_id = place.id
  join pay_item i on i.id = r.pay_item_id
  join bill b on b.id = i.bill_id
  left join (select m.* from place cross join lateral measured_of(place.id, measured_by_rule.until) m) m on m.pay_item_id = i.id
  group by b.version, i.reference, i.unit, r.dimension;
end;

comment on function measured_by_rule(text, text, date) is 'What each rule of a drive catches until a day: records, quantity in the item''s unit, what is held, and records that lack what the rule asks for.';

-- What nothing is paid for until a day, by what it is: what countersigned shifts hold and no rule catches, and probe holes that no countersigned
-- shift holds. A hole without a time of drilling has no day, and is among them whatever the day.
create or replace function unmeasured(project text, drive text, until date)
returns table (source text, code text, record_count int, first_key text, last_key text, reason text)
language sql stable begin atomic
  with place as materialized (select d.id, p.time_zone, p.day_start from drive d join project p on p.id = d.project_id
    where p.code = unmeasured.project and d.code = unmeasured.drive),
  missed as (
    select m.source, coalesce(i.code, m.activity_code) as code, m.source_key, 'no_rule' as reason
    from place
    cross join lateral measurable_of(place.id, unmeasured.until, null) m
    left join support_item i on i.id = m.support_item_id
    where not exists (select from measured_of(place.id, unmeasured.until) c where c.source_key = m.source_key)
    union all
    select 'probing', null, 'probe-hole/' || h.name, 'no_countersigned_shift'
    from place
    join probe_hole h on h.drive_id = place.id
    join probe_hole_reading r on r.probe_hole_id = h.id
    where r.shift_state is distinct from 'countersigned'
      and coalesce(production_day(h.drilled_at, place.time_zone, place.day_start) <= unmeasured.until, true)
  )
  select source, code, count(distinct source_key)::int, min(source_key collate "C"), max(source_key collate "C"), reason
  from missed group by source, code, reason;
end;

comment on function unmeasured(text, text, date) is 'Records until a day that nothing is paid for, by source, support item or activity code, and reason: no_rule, no rule catches what a countersigned shift holds; no_countersigned_shift, a probe hole that no countersigned shift holds.';

-- Pairs of items whose rules catch the same records. Often meant, as where supply and installation are items of their own.
create or replace function measured_twice(project text, drive text, until date)
returns table (bill_version text, reference text, other_reference text, record_count int, first_key text)
language sql stable begin atomic
  with place as materialized (select d.id from drive d join project p on p.id = d.project_id where p.code = measured_twice.project and d.code = measured_twice.drive),
  caught as materialized (
    select distinct m.pay_item_id, m.reference, m.source_key from place cross join lateral measured_part_of(place.id, measured_twice.until) m
    where m.source <> 'lump' and not m.in_dispute -- what is held is paid by another item meanwhile
  )
  select b.version, a.reference, o.reference, count(*)::int, min(a.source_key collate "C")
  from caught a
  join caught o on o.source_key = a.source_key and o.reference collate "C" > a.reference collate "C"
  join pay_item i on i.id = a.pay_item_id
  join bill b on b.id = i.bill_id
  group by b.version, a.reference, o.reference;
end;

comment on function measured_twice(text, text, date) is 'Pairs of items whose rules catch the same records until a day, with their number and the first of them.';
