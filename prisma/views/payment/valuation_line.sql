-- One row per line of a valuation: as certified, or as it would be now.
create or replace view valuation_line as
select
  p.code as project_code,
  d.code as drive_code,
  v.number as valuation_number,
  v.state::text as state,
  v.cut_off,
  b.version as bill_version,
  i.reference,
  i.group_code,
  i.group_title,
  i.position,
  i.description,
  i.unit,
  i.decimals,
  i.rate,
  b.currency,
  i.quantity as bill_quantity,
  l.previous_quantity,
  l.quantity,
  l.to_date_quantity,
  l.held_quantity,
  l.previous_amount,
  l.amount,
  l.to_date_amount,
  l.exact_quantity,
  l.base_per_unit,
  l.source_count,
  l.incomplete_count,
  l.digest,
  b.minor_units,
  b.valid_from as bill_valid_from,
  v.drive_id,
  v.id as valuation_id,
  i.id as pay_item_id,
  l.basis,
  l.contested,
  l.rounded_with,
  l.deemed_shifts
from valuation v
join drive d on d.id = v.drive_id
join project p on p.id = d.project_id
cross join lateral (
  select c.pay_item_id, c.exact_quantity, c.base_per_unit, c.previous_quantity, c.quantity, c.to_date_quantity, c.held_quantity, c.previous_amount, c.amount,
    c.to_date_amount, c.source_count, null::int as incomplete_count, c.digest::text,
    c.basis, c.contested, c.rounded_with, c.deemed_shifts
  from certified_line c where v.state = 'certified' and c.valuation_id = v.id
  union all
  select f.* from draft_line_in(v.drive_id, v.cut_off, has_schema_privilege('kept', 'usage')) f where v.state <> 'certified' -- readers of the reports may not
) l
cross join lateral ( -- after the lines, so that they are computed once and not per item
  select i.* from pay_item i where i.id = l.pay_item_id offset 0
) i
cross join lateral (select b.* from bill b where b.id = i.bill_id offset 0) b;

comment on view valuation_line is
  'One row per line of a valuation: an item with its quantity and amount before, in this period and to date; as certified, or as it would be now.';
comment on column valuation_line.exact_quantity is 'Measured to date, not rounded, in base units: nr, m, m2, m3, kg, s.';
comment on column valuation_line.base_per_unit is 'Base units in a unit of the item: 3600 s in an h, 1000 kg in a t, else 1.';
comment on column valuation_line.held_quantity is
  'Held apart, in no other quantity of this item: disputed records, and what the item would count if the class decisions that are contested were agreed; that '
  'is paid meanwhile by the governing class. [unit of the item]';
comment on column valuation_line.source_count is 'Records that changed the line since the valuation before.';
comment on column valuation_line.incomplete_count is 'Records that fall under the item and lack what its rule asks for; null when certified.';
comment on column valuation_line.rounded_with is
  'References of the lines, itself among them, that divide the same records and are rounded together; null: by itself.';
comment on column valuation_line.deemed_shifts is
  'Shifts, as date/name, whose records changed it and that are deemed accepted, not countersigned, under a rule by which that pays; null: none.';
comment on column valuation_line.digest is 'SHA-256 over the SHA-256 of each source''s canonical row, in the order of their keys.';
comment on column valuation_line.basis is 'Basis of the class of the records that changed it: agreed, noted, or both; null: none has a class.';
comment on column valuation_line.contested is
  'Where the rule depends on classes: the class decisions over its records that are not agreed, as JSON: number, state, groundClass; state noted: by '
  'a note that is not countersigned. Null: none.';
