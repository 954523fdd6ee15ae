-- The lines of a valuation with this cut-off: one row per item of the bills that count until then. by_kept_sums: cached sums of shifts are used as far
-- as they are valid (see draft_kept_of); otherwise every record is measured, as for certification.
create or replace function draft_line_in(drive_id int, cut_off date, by_kept_sums boolean)
returns table (pay_item_id int, exact_quantity numeric, base_per_unit int, previous_quantity numeric, quantity numeric, to_date_quantity numeric,
  held_quantity numeric, previous_amount numeric, amount numeric, to_date_amount numeric, source_count int, incomplete_count int, digest text,
  basis text, contested jsonb, rounded_with text[], deemed_shifts text[])
language sql stable strict rows 100 set work_mem = '32MB' begin atomic
  with silence as materialized (
    select nullif(shift_keys, '{}') as shift_keys from paid_by_silence_of(draft_line_in.drive_id)
  ), kept as materialized (
    select k.* from draft_kept_of(draft_line_in.drive_id, draft_line_in.cut_off) k where draft_line_in.by_kept_sums
    union all
    select false, '{}', '{}', '{}' where not draft_line_in.by_kept_sums
  ), summed as materialized ( -- by shift and item; the keys of shifts have the same order as those of their records
    select u.shift_date || '/' || u.shift_name as shift_key, coalesce(nullif(u.own_key, ''), u.shift_date || '/' || u.shift_name || '/') collate "C" as place,
      u.class_code collate "C" as class_code, u.pay_item_id, u.bounded_quantity, u.quantity, u.held_quantity, u.source_count, u.incomplete_count, u.seals,
        u.basis,
      u.is_agreed, u.is_noted, u.contested
    from kept k cross join lateral draft_unit_of(draft_line_in.drive_id, draft_line_in.cut_off, k.is_kept, k.shift_ids, k.dates, k.names) u
    union all
    select s.shift_date || '/' || s.shift_name, s.shift_date || '/' || s.shift_name || '/', '', s.pay_item_id, s.bounded_quantity, s.quantity, s.held_quantity,
      s.source_count,
      s.incomplete_count, s.seals, s.basis, s.is_agreed, s.is_noted, s.contested
    from kept k cross join lateral draft_sum_of(draft_line_in.drive_id, draft_line_in.cut_off, k.dates, k.names) s
    where k.is_kept
  ), bounded as (
    select b.pay_item_id, b.reference, beyond_bounds(coalesce(s.quantity, 0), b.least_quantity, b.most_quantity) as quantity
    from measure_bound_of(draft_line_in.drive_id, draft_line_in.cut_off) b
    left join (select u.pay_item_id, sum(u.bounded_quantity) as quantity from summed u group by u.pay_item_id) s on s.pay_item_id = b.pay_item_id
  ), limited as ( -- a limit is a separate source
    select coalesce(b.pay_item_id, c.pay_item_id) as pay_item_id, coalesce(b.reference, c.reference) as reference, coalesce(c.sequence, 0) + 1 as sequence,
      coalesce(c.quantity, 0) as previous_quantity, coalesce(b.quantity, 0) as to_date_quantity
    from (select * from bounded where quantity <> 0) b
    full join (
      select s.pay_item_id, s.reference, max(s.sequence) as sequence, sum(s.quantity) as quantity
      from pay_item i join bill o on o.id = i.bill_id
      cross join lateral (
        select c.* from certified_source c where c.drive_id = draft_line_in.drive_id and c.reference = i.reference and c.source_key = 'limit'
          and c.pay_item_id = i.id offset 0
      ) s
      join valuation v on v.id = s.valuation_id and v.state::text = 'certified'
      where o.drive_id = draft_line_in.drive_id
      group by s.pay_item_id, s.reference
    ) c on c.pay_item_id = b.pay_item_id
  ), source as (
    select shift_key, place, class_code, pay_item_id, quantity, held_quantity, source_count, incomplete_count, seals, basis, is_agreed, is_noted, contested
      from summed
    union all
    select null, 'limit', '', l.pay_item_id, l.to_date_quantity - l.previous_quantity, 0, 1, 0,
      source_seal(l.reference, 'limit', '', l.sequence, l.previous_quantity, l.to_date_quantity), null, false, false, null
    from limited l where l.to_date_quantity <> l.previous_quantity
  ), drafted as materialized (
    select s.pay_item_id, sum(s.quantity) as quantity, sum(s.held_quantity) as held_quantity, sum(s.source_count)::int as source_count,
      sum(s.incomplete_count)::int as incomplete_count,
      encode(sha256(coalesce(string_agg(s.seals, ''::bytea order by s.place, s.class_code), '')), 'hex') as digest, -- null adds nothing
      case when bool_or(s.is_agreed) and bool_or(s.is_noted) then 'agreed and noted' else min(s.basis) end as basis,
      distinct_elements(jsonb_path_query_array(jsonb_agg(s.contested) filter (where s.contested is not null), '$[*][*]')) as contested,
      array_agg(distinct s.shift_key) filter (where s.source_count > 0 and s.shift_key = any ((select shift_keys from silence)::text[])) as deemed_shifts
    from source s
    group by s.pay_item_id
  ), certified as materialized (
    select l.pay_item_id, sum(l.quantity) as quantity, sum(l.amount) as amount
    from certified_line l join valuation v on v.id = l.valuation_id and v.state = 'certified'
    where l.drive_id = draft_line_in.drive_id
    group by l.pay_item_id
  ), before as materialized ( -- the quantity of the last certified line, which is the sum of all its sources
    select distinct on (l.pay_item_id) l.pay_item_id, l.exact_quantity as quantity
    from certified_line l join valuation v on v.id = l.valuation_id and v.state = 'certified'
    where l.drive_id = draft_line_in.drive_id
    order by l.pay_item_id, v.number desc
  ), line as materialized (
    select i.id as pay_item_id, i.decimals, i.rate, b.minor_units, base_per_unit(r.dimension::text, i.unit) as per_unit,
      coalesce(before.quantity, 0) + coalesce(s.quantity, 0) as exact_quantity, coalesce(c.quantity, 0) as previous_quantity,
      coalesce(s.held_quantity, 0) as held_quantity, coalesce(c.amount, 0) as previous_amount, coalesce(s.source_count, 0) as source_count,
      coalesce(s.incomplete_count, 0) as incomplete_count, coalesce(s.digest, encode(sha256(''), 'hex')) as digest, s.basis, s.contested, s.deemed_shifts
    from bill b
    join pay_item i on i.bill_id = b.id
    left join measurement_rule r on r.pay_item_id = i.id
    left join drafted s on s.pay_item_id = i.id
    left join certified c on c.pay_item_id = i.id
    left join before on before.pay_item_id = i.id
    where b.drive_id = draft_line_in.drive_id and b.valid_from <= draft_line_in.cut_off
  ), rounded as (
    select r.* from (select array_agg(l.pay_item_id) as items, array_agg(l.exact_quantity) as quantities from line l) a
    cross join lateral rounded_line_of(draft_line_in.drive_id, a.items, a.quantities) r
  )
  select l.pay_item_id, l.exact_quantity, l.per_unit, l.previous_quantity, r.quantity - l.previous_quantity, r.quantity,
    round(l.held_quantity / l.per_unit, l.decimals), l.previous_amount, round(r.quantity * coalesce(l.rate, 0), l.minor_units) - l.previous_amount,
    round(r.quantity * coalesce(l.rate, 0), l.minor_units), l.source_count, l.incomplete_count, l.digest, l.basis, l.contested, r.reference_list,
      l.deemed_shifts
  from line l join rounded r on r.pay_item_id = l.pay_item_id;
end;

comment on function draft_line_in(int, date, boolean) is 'draft_line_of, by kept sums where that is wanted.';
