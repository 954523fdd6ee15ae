-- A check of what the rules of a drive measure until a day: what each rule covers (part rule; also for a rule that covers nothing), what is not paid
-- (unmeasured), pairs of items whose rules measure the same records (twice), and sets of items that are rounded together though they have different
-- decimals (decimals). The record is measured once for all of them, and combined in memory.
-- Not paid are contents of countersigned shifts that no rule covers, and probe holes and grouted holes in no countersigned shift. A hole without a
-- time of drilling, or an end of grouting, has no day, and is among them whatever the day.
create or replace function measure_check_of(project text, drive text, until date)
returns table (part text, bill_version text, reference text, other_reference text, unit text, record_count int, quantity numeric, held_quantity numeric,
  incomplete_count int, source text, code text, first_key text, last_key text, reason text, reference_list text[], step numeric)
language sql stable strict rows 100 set work_mem = '32MB' begin atomic
  with place as materialized (
    select d.id, p.time_zone, p.day_start from drive d join project p on p.id = d.project_id
    where p.code = measure_check_of.project and d.code = measure_check_of.drive
  ), dispute as materialized (
    select q.reference, q.source_key from quantity_dispute q where q.drive_id in (select id from place) and q.settled_at is null
  ), measured as materialized (
    select m.pay_item_id, m.source, m.source_key, m.match, m.is_single, m.quantity, m.in_dispute as is_held, m.in_dispute or (
        (select exists (select from dispute)) and m.quantity > 0 and (m.reference, m.source_key) in (select d.reference, d.source_key
          from dispute d)) as is_kept_apart
    from (
      select m.* from place cross join lateral measured_part_of(place.id, measure_check_of.until, '', true) m
      union all
      select m.* from place cross join lateral lump_part_of(place.id, measure_check_of.until, '') m
    ) m
  ), taken as materialized ( -- by record and item; records within one stretch occur once and need no grouping
    select m.source, m.source_key, m.pay_item_id, m.match, m.quantity is null as is_incomplete, m.is_held,
      case when not m.is_kept_apart then m.quantity end as quantity, case when m.is_kept_apart then m.quantity end as held_quantity
    from measured m where m.pay_item_id is not null and m.is_single
    union all
    select m.source, m.source_key, m.pay_item_id, min(m.match), bool_or(m.quantity is null), bool_and(m.is_held),
      sum(m.quantity) filter (where not m.is_kept_apart), sum(m.quantity) filter (where m.is_kept_apart)
    from measured m where not m.is_single group by m.source, m.source_key, m.pay_item_id
  ), caught as (
    select t.pay_item_id, count(*)::int as record_count, count(*) filter (where t.is_incomplete)::int as incomplete_count, sum(t.quantity) as quantity,
      sum(t.held_quantity) as held_quantity
    from taken t where t.pay_item_id is not null group by t.pay_item_id
  ), record as materialized ( -- how many items pay or hold it, and which of them pay it: usually one; for more than two the list is built separately
    select t.source, t.source_key, min(t.match) as match, count(t.pay_item_id) as item_count, count(t.pay_item_id) filter (where not t.is_held) as paid_count,
      min(t.pay_item_id) filter (where not t.is_held) as one_id, max(t.pay_item_id) filter (where not t.is_held) as other_id
    from taken t group by t.source, t.source_key
  ), missed as materialized (
    select m.source, m.match, count(*) as record_count, min(m.source_key collate "C") as first_key, max(m.source_key collate "C") as last_key,
      'no_rule' as reason
    from (
      select m.source, m.match, m.source_key from measured m where m.pay_item_id is null and m.is_single -- records within one stretch occur once
      union all
      select r.source, r.match, r.source_key from record r where r.item_count = 0
    ) m
    group by m.source, m.match
    union all
    select 'probing', null, count(*), min('probe-hole/' || h.name collate "C"), max('probe-hole/' || h.name collate "C"), 'no_countersigned_shift'
    from place
    cross join lateral (select * from probe_hole where probe_hole.drive_id = place.id offset 0) h
    cross join lateral (select * from probe_hole_reading where probe_hole_reading.drive_id = place.id offset 0) r
    where r.probe_hole_id = h.id and r.shift_state is distinct from 'countersigned'
      and (r.shift_id = any ((select shift_ids from paid_by_silence_of(place.id))::int[])) is not true
      and coalesce(production_day(h.drilled_at, place.time_zone, place.day_start) <= measure_check_of.until, true)
    having count(*) > 0
    union all
    select 'grouting', -5, count(*), min('grouting/' || h.round || '/' || h.name collate "C"), max('grouting/' || h.round || '/' || h.name collate "C"),
      'no_countersigned_shift'
    from place
    cross join lateral (select * from grouting_hole where grouting_hole.drive_id = place.id offset 0) h
    where h.shift_state is distinct from 'countersigned' and (h.shift_id = any ((select shift_ids from paid_by_silence_of(place.id))::int[])) is not true
      and coalesce(production_day(h.done_at - interval '1 millisecond', place.time_zone, place.day_start) <= measure_check_of.until, true)
    having count(*) > 0
  ), several as ( -- there are few distinct sets
    select s.item_ids, count(*) as record_count, min(s.source_key collate "C") as first_key
    from (
      select array[r.one_id, r.other_id] as item_ids, r.source_key from record r where r.source <> 'lump' and r.paid_count = 2
      union all
      select array_agg(t.pay_item_id order by t.pay_item_id), t.source_key from taken t
      where not t.is_held and t.pay_item_id is not null and (select exists (select from record r where r.paid_count > 2))
        and (t.source, t.source_key) in (select r.source, r.source_key from record r where r.source <> 'lump' and r.paid_count > 2)
      group by t.source, t.source_key
    ) s
    group by s.item_ids
  ), pair as (
    select s.record_count, s.first_key, a.id, o.id as other_id
    from several s cross join lateral unnest(s.item_ids) a(id) cross join lateral unnest(s.item_ids) o(id)
  )
  select 'rule', b.version, i.reference, null::text, i.unit, coalesce(c.record_count, 0),
    round(coalesce(c.quantity, 0) / base_per_unit(r.dimension::text, i.unit), 6), -- six decimals are the most that an item can have
    round(coalesce(c.held_quantity, 0) / base_per_unit(r.dimension::text, i.unit), 6), coalesce(c.incomplete_count, 0), null::text, null::text, null::text,
    null::text, null::text, null::text[], null::numeric
  from place
  join measurement_rule r on r.drive_id = place.id
  join pay_item i on i.id = r.pay_item_id
  join bill b on b.id = i.bill_id
  left join caught c on c.pay_item_id = i.id
  union all
  select 'unmeasured', null, null, null, null, m.record_count::int, null, null, null, m.source,
    coalesce((select i.code from support_item i where i.id = m.match), (select a.code from activity_code a where a.id = -10 - m.match),
      case m.match when -5 then 'hole' when -6 then 'mix' end), m.first_key, m.last_key,
    m.reason, null, null
  from missed m
  union all
  select 'twice', b.version, i.reference, o.reference, null, sum(p.record_count)::int, null, null, null, null, null, min(p.first_key collate "C"), null, null,
    null, null
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
  'What the rules of a drive measure until a day, checked; part: rule, unmeasured, twice or decimals, which are measured_by_rule, unmeasured, measured_twice '
  'and mixed_decimals.';
