-- The lines that a valuation with this cut-off would have: one row an item of the bills that count until then.
create or replace function draft_line_of(drive_id int, cut_off date)
returns table (pay_item_id int, exact_quantity numeric, base_per_unit int, previous_quantity numeric, quantity numeric, to_date_quantity numeric,
  held_quantity numeric, previous_amount numeric, amount numeric, to_date_amount numeric, source_count int, incomplete_count int, digest text,
  basis text, contested jsonb, rounded_with text[], deemed_shifts text[])
language sql stable strict rows 100 set work_mem = '32MB' begin atomic
  with silence as materialized (
    select nullif(shift_keys, '{}') as shift_keys from paid_by_silence_of(draft_line_of.drive_id)
  ), source as ( -- the order of the digest as columns, so that one sort serves grouping and digest
    select s.pay_item_id, s.source_key collate "C" as source_key, s.class_code collate "C" as class_code, s.quantity, s.held_quantity, s.incomplete, s.basis, s.contested,
      case when (select shift_keys from silence) is not null then
        case when s.quantity <> 0 and s.shift_date || '/' || s.shift_name = any ((select shift_keys from silence)::text[]) then s.shift_date || '/' || s.shift_name end
      end as deemed_shift,
      case when s.quantity <> 0 then source_seal(s.reference, s.source_key, s.class_code, s.sequence, s.previous_quantity, s.to_date_quantity) end as seal
    from draft_source_of(draft_line_of.drive_id, draft_line_of.cut_off, '') s
    offset 0
  ), drafted as materialized (
    select s.pay_item_id, sum(s.quantity) as quantity, sum(s.held_quantity) as held_quantity, count(s.seal)::int as source_count,
      count(*) filter (where s.incomplete)::int as incomplete_count,
      encode(sha256(coalesce(string_agg(s.seal, ''::bytea order by s.source_key, s.class_code), '')), 'hex') as digest, -- of null, nothing is added
      case when bool_or(s.basis like 'agreed%') and bool_or(s.basis like '%noted') then 'agreed and noted' else min(s.basis) end as basis,
      distinct_elements(jsonb_path_query_array(jsonb_agg(s.contested) filter (where s.contested is not null), '$[*][*]')) as contested,
      array_agg(distinct s.deemed_shift) filter (where s.deemed_shift is not null) as deemed_shifts
    from source s
    group by s.pay_item_id
  ), certified as materialized (
    select l.pay_item_id, sum(l.quantity) as quantity, sum(l.amount) as amount
    from certified_line l join valuation v on v.id = l.valuation_id and v.state = 'certified'
    where l.drive_id = draft_line_of.drive_id
    group by l.pay_item_id
  ), before as materialized (
    select c.pay_item_id, sum(c.quantity) as quantity
    from certified_source c join valuation v on v.id = c.valuation_id and v.state = 'certified'
    where c.drive_id = draft_line_of.drive_id
    group by c.pay_item_id
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
    where b.drive_id = draft_line_of.drive_id and b.valid_from <= draft_line_of.cut_off
  ), rounded as (
    select r.* from (select array_agg(l.pay_item_id) as items, array_agg(l.exact_quantity) as quantities from line l) a
    cross join lateral rounded_line_of(draft_line_of.drive_id, a.items, a.quantities) r
  )
  select l.pay_item_id, l.exact_quantity, l.per_unit, l.previous_quantity, r.quantity - l.previous_quantity, r.quantity,
    round(l.held_quantity / l.per_unit, l.decimals), l.previous_amount, round(r.quantity * coalesce(l.rate, 0), l.minor_units) - l.previous_amount,
    round(r.quantity * coalesce(l.rate, 0), l.minor_units), l.source_count, l.incomplete_count, l.digest, l.basis, l.contested, r.reference_list, l.deemed_shifts
  from line l join rounded r on r.pay_item_id = l.pay_item_id;
end;

comment on function draft_line_of(int, date) is
  'The lines that a valuation with this cut-off would have, by pay item: quantities rounded once to the item''s decimals, those of items that divide the same records (rounded_with) together, amounts once to the currency''s.';
