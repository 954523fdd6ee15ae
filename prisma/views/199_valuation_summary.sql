-- The canonical form of a line, hashed: what two people sign.
create or replace function line_seal(bill_version text, reference text, exact_quantity numeric, to_date_quantity numeric, held_quantity numeric,
  previous_amount numeric, to_date_amount numeric, digest text)
returns bytea language sql immutable parallel safe as $$
  select sha256(convert_to(concat_ws('|', bill_version, reference, trim_scale(exact_quantity), trim_scale(to_date_quantity), trim_scale(held_quantity),
    trim_scale(previous_amount), trim_scale(to_date_amount), digest), 'UTF8'))
$$;

comment on function line_seal(text, text, numeric, numeric, numeric, numeric, numeric, text) is 'SHA-256 of a line of a valuation in its canonical form.';

-- One row a valuation: its life, its sums in the currency of its bills, the seal over its lines, and the lines themselves as a list, in the order
-- of the bill: all of one computation, as that of a draft goes over the whole record.
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
    encode(sha256(string_agg(line_seal(l.bill_version, l.reference, l.exact_quantity, l.to_date_quantity, l.held_quantity, l.previous_amount, l.to_date_amount, l.digest),
      ''::bytea order by l.bill_valid_from, l.reference collate "C")), 'hex') as seal,
    json_agg(json_build_object('version', l.bill_version, 'reference', l.reference, 'groupCode', l.group_code, 'groupTitle', l.group_title,
      'description', l.description, 'unit', l.unit, 'rate', round(l.rate, greatest(scale(trim_scale(l.rate)), l.minor_units))::text, 'billQuantity', round(l.bill_quantity, l.decimals)::text,
      'previousQuantity', round(l.previous_quantity, l.decimals)::text, 'quantity', round(l.quantity, l.decimals)::text,
      'toDateQuantity', round(l.to_date_quantity, l.decimals)::text, 'heldQuantity', round(l.held_quantity, l.decimals)::text,
      'previousAmount', round(l.previous_amount, l.minor_units)::text, 'amount', round(l.amount, l.minor_units)::text,
      'toDateAmount', round(l.to_date_amount, l.minor_units)::text, 'sourceCount', l.source_count, 'incompleteCount', l.incomplete_count, 'digest', l.digest,
      'basis', l.basis, 'contested', l.contested, 'roundedWith', l.rounded_with, 'deemedShifts', l.deemed_shifts)
      order by l.bill_valid_from, l.position) as lines
  from valuation_line l where l.valuation_id = v.id
) l on true;

comment on view valuation_document is 'One row a valuation as valuation_summary has it, with its lines as JSON.';
comment on column valuation_document.lines is 'The lines in the order of the bill: values of valuation_line, numbers as text with their decimals.';

-- The same without the lines.
create or replace view valuation_summary as
select project_code, drive_code, valuation_number, state, cut_off, remark, currency, previous_amount, amount, to_date_amount, line_count, held_count,
  prepared_by, prepared_at, agreed_by, agreed_at, certified_by, certified_at, measured_change, agreed_seal, seal, drive_id, valuation_id, open_shift_count,
  prepared_for, agreed_for, certified_for, signatures, probe_holes_without_time, deemed_shift_count
from valuation_document;

comment on view valuation_summary is 'One row a valuation: cut-off, state, who agreed and certified, sums, and the SHA-256 seal over its lines.';
comment on column valuation_summary.amount is 'Sum of the amounts of this period. [currency]';
comment on column valuation_summary.held_count is 'Lines with a quantity that is held apart: disputed, or of a class that is contested.';
comment on column valuation_summary.agreed_seal is 'The seal that was agreed; another than seal: the record has changed since.';
comment on column valuation_summary.measured_change is 'Number of the change after which the record stood when it was certified.';
comment on column valuation_summary.open_shift_count is 'Shifts until the cut-off that are neither countersigned nor paid as deemed accepted: they do not count, and it cannot be certified. Null: certified.';
comment on column valuation_summary.agreed_for is 'For which party, as JSON: code, name, kind, side at that moment; so the others. Null: not recorded.';
comment on column valuation_summary.signatures is 'two_parties, one_party or parties_not_recorded: who agreed and who certified; null: not certified.';
comment on column valuation_summary.probe_holes_without_time is 'Names of the probe holes whose time of drilling is not noted, as JSON: they are in no period and pay nothing. Null: certified.';
comment on column valuation_summary.deemed_shift_count is 'Those of open_shift_count that are deemed accepted at the moment asked for: not a signature, so they do not count either. Null: certified.';
