-- What a draft of a valuation contains of each shift under each pay item, summed; a probe hole, a grouted hole, each of its mixes and an entry of a
-- lump sum have a row each, with their own key. With is_kept, without the shifts shift_ids; then, of what was certified, only the keys dates and
-- names and what belongs to no shift are read. It excludes what limits per metre add or deduct: bounded_quantity is the total to date to which they
-- apply. seals: those of the records that the draft changes, in the order of a line's digest.
create or replace function draft_unit_of(drive_id int, cut_off date, is_kept boolean, shift_ids int[], dates date[], names text[])
returns table (shift_date date, shift_name text, own_key text, class_code text, pay_item_id int, bounded_quantity numeric, quantity numeric,
  held_quantity numeric,
  source_count int, incomplete_count int, seals bytea, basis text, is_agreed boolean, is_noted boolean, contested jsonb)
language sql stable strict rows 10000 begin atomic
  with record as materialized (
    select r.*, r.source in ('advance', 'support', 'time') and r.shift_name is not null as is_of_shift
      from measured_record_in(draft_unit_of.drive_id, draft_unit_of.cut_off, '', draft_unit_of.shift_ids) r
  ), certified as (
    select s.pay_item_id, s.reference, s.source::text as source, s.source_key, s.class_code, max(s.sequence) as sequence, sum(s.quantity) as quantity,
      max(s.shift_date) as shift_date, max(s.shift_name) as shift_name
    from (
      select c.* from certified_source c where not draft_unit_of.is_kept and c.drive_id = draft_unit_of.drive_id and c.source_key <> 'limit'
      union all
      select c.* from unnest(draft_unit_of.dates, draft_unit_of.names) k(day, name)
      cross join lateral (
        select c.* from certified_source c where c.drive_id = draft_unit_of.drive_id and c.shift_date = k.day and c.shift_name = k.name offset 0
      ) c
      where draft_unit_of.is_kept and c.source::text in ('advance', 'support', 'time') and c.source_key <> 'limit'
      union all
      select c.* from certified_source c
      where draft_unit_of.is_kept and c.drive_id = draft_unit_of.drive_id and c.shift_name is null
        and c.source::text in ('advance', 'support', 'time') and c.source_key <> 'limit'
      union all
      select c.* from pay_item i join bill b on b.id = i.bill_id join measurement_rule r on r.pay_item_id = i.id
      cross join lateral (
        select c.* from certified_source c where c.drive_id = draft_unit_of.drive_id and c.reference = i.reference and c.pay_item_id = i.id offset 0
      ) c
      where draft_unit_of.is_kept and b.drive_id = draft_unit_of.drive_id and r.source::text in ('probing', 'grouting', 'lump')
    ) s
    join valuation v on v.id = s.valuation_id and v.state::text = 'certified'
    group by s.pay_item_id, s.reference, s.source::text, s.source_key, s.class_code
  ), paired as (
    select coalesce(n.shift_date, c.shift_date) as shift_date, coalesce(n.shift_name, c.shift_name) as shift_name,
      coalesce(n.is_of_shift, c.source in ('advance', 'support', 'time') and c.shift_name is not null) as is_of_shift,
      coalesce(n.pay_item_id, c.pay_item_id) as pay_item_id,
      coalesce(n.reference, c.reference) as reference, coalesce(n.source_key, c.source_key) as source_key, coalesce(n.class_code, c.class_code) as class_code,
      coalesce(c.sequence, 0) + 1 as sequence, coalesce(c.quantity, 0) as previous_quantity, coalesce(n.quantity, 0) as to_date_quantity,
      coalesce(n.held_quantity, 0) as held_quantity, coalesce(n.incomplete, false) as incomplete, n.basis, n.contested
    from record n
    full join certified c on c.pay_item_id = n.pay_item_id and c.source_key = n.source_key and c.class_code = n.class_code
  ), sealed as ( -- in the digest's sort order, so that one sort serves grouping and digest
    select p.shift_date, p.shift_name collate "C" as shift_name, case when p.is_of_shift then '' else p.source_key end as own_key,
      case when p.is_of_shift then '' else p.class_code end as own_class, p.pay_item_id, p.source_key collate "C" as source_key,
        p.class_code collate "C" as class_code,
      p.to_date_quantity - p.previous_quantity as quantity, p.held_quantity, p.incomplete, p.basis, p.contested,
      case when p.to_date_quantity <> p.previous_quantity then source_seal(p.reference, p.source_key, p.class_code, p.sequence, p.previous_quantity,
        p.to_date_quantity) end as seal
    from paired p
    where p.to_date_quantity <> p.previous_quantity or p.held_quantity <> 0 or p.incomplete or p.contested is not null
    offset 0
  )
  select s.shift_date, s.shift_name, s.own_key, s.own_class, s.pay_item_id, 0, sum(s.quantity), sum(s.held_quantity), count(s.seal)::int,
    count(*) filter (where s.incomplete)::int, string_agg(s.seal, ''::bytea order by s.source_key, s.class_code), min(s.basis),
    coalesce(bool_or(s.basis like 'agreed%'), false), coalesce(bool_or(s.basis like '%noted'), false),
    distinct_elements(jsonb_path_query_array(jsonb_agg(s.contested) filter (where s.contested is not null), '$[*][*]'))
  from sealed s
  group by s.pay_item_id, s.shift_date, s.shift_name, s.own_key, s.own_class
  union all
  select r.shift_date, r.shift_name, case when r.is_of_shift then '' else r.source_key end, case when r.is_of_shift then '' else r.class_code end,
    r.pay_item_id,
    sum(r.quantity), 0, 0, 0, 0, null, null, false, false, null
  from record r
  where exists (select from measurement_rule b where b.drive_id = draft_unit_of.drive_id and (b.min_per_m is not null or b.max_per_m is not null))
  group by 1, 2, 3, 4, 5;
end;

comment on function draft_unit_of(int, date, boolean, int[], date[], text[]) is
  'What a draft of a valuation says of each shift under each pay item that certified ones do not say already, summed, in base units (nr, m, m2, m3, kg, s); '
  'without the shifts of which it is kept.';
