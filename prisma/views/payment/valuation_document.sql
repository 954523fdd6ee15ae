-- One row per valuation: its life, its sums in the currency of its bills, the seal over its lines, and the lines themselves as a list, in the order of
-- the bill: all from one computation, because a draft is computed from the whole record.
create or replace view valuation_document as
select
  p.code as project_code,
  d.code as drive_code,
  v.number as valuation_number,
  v.state::text as state,
  v.cut_off,
  v.remark,
  l.currency,
  round(coalesce(l.previous_amount, 0), coalesce(l.minor_units, 0)) as previous_amount,
  round(coalesce(l.amount, 0), coalesce(l.minor_units, 0)) as amount,
  round(coalesce(l.to_date_amount, 0), coalesce(l.minor_units, 0)) as to_date_amount,
  coalesce(l.line_count, 0) as line_count,
  coalesce(l.held_count, 0) as held_count,
  v.prepared_by,
  v.prepared_at,
  v.agreed_by,
  v.agreed_at,
  v.certified_by,
  v.certified_at,
  v.measured_change,
  v.digest as agreed_seal,
  l.seal,
  v.drive_id,
  v.id as valuation_id,
  coalesce(l.lines, '[]') as lines,
  case when v.state::text <> 'certified' then (select count(*)::int from shift s
    where s.drive_id = v.drive_id and s.shift_date <= v.cut_off and s.state::text <> 'countersigned'
      and s.id <> all ((select shift_ids from paid_by_silence_of(v.drive_id))::int[])) end as open_shift_count,
  v.prepared_for,
  v.agreed_for,
  v.certified_for,
  signed_by(v.agreed_for, v.certified_for, v.certified_by is not null) as signatures,
  case when v.state::text <> 'certified' then (select coalesce(json_agg(h.name order by h.name collate "C"), '[]') from probe_hole h
    where h.drive_id = v.drive_id and h.drilled_at is null) end as probe_holes_without_time,
  case when v.state::text <> 'certified' then (select count(*)::int from shift_acceptance a
    where a.drive_id = v.drive_id and a.shift_date <= v.cut_off and a.acceptance = 'deemed_accepted' and not a.rule_pays) end as deemed_shift_count
from valuation v
join drive d on d.id = v.drive_id
join project p on p.id = d.project_id
left join lateral (
  select max(l.currency) as currency, max(l.minor_units) as minor_units, sum(l.previous_amount) as previous_amount, sum(l.amount) as amount,
    sum(l.to_date_amount) as to_date_amount, count(*)::int as line_count, count(*) filter (where l.held_quantity > 0)::int as held_count,
    encode(sha256(string_agg(line_seal(l.bill_version, l.reference, l.exact_quantity, l.to_date_quantity, l.held_quantity, l.previous_amount, l.to_date_amount,
      l.digest),
      ''::bytea order by l.bill_valid_from, l.reference collate "C")), 'hex') as seal,
    json_agg(json_build_object('version', l.bill_version, 'reference', l.reference, 'groupCode', l.group_code, 'groupTitle', l.group_title,
      'description', l.description, 'unit', l.unit, 'rate', round(l.rate, greatest(scale(trim_scale(l.rate)), l.minor_units))::text, 'billQuantity',
        round(l.bill_quantity, l.decimals)::text,
      'previousQuantity', round(l.previous_quantity, l.decimals)::text, 'quantity', round(l.quantity, l.decimals)::text,
      'toDateQuantity', round(l.to_date_quantity, l.decimals)::text, 'heldQuantity', round(l.held_quantity, l.decimals)::text,
      'previousAmount', round(l.previous_amount, l.minor_units)::text, 'amount', round(l.amount, l.minor_units)::text,
      'toDateAmount', round(l.to_date_amount, l.minor_units)::text, 'sourceCount', l.source_count, 'incompleteCount', l.incomplete_count, 'digest', l.digest,
      'basis', l.basis, 'contested', l.contested, 'roundedWith', l.rounded_with, 'deemedShifts', l.deemed_shifts)
      order by l.bill_valid_from, l.position) as lines
  from valuation_line l where l.valuation_id = v.id
) l on true;

comment on view valuation_document is 'One row per valuation as valuation_summary has it, with its lines as JSON.';
comment on column valuation_document.lines is 'The lines in the order of the bill: values of valuation_line, numbers as text with their decimals.';
