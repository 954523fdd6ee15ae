-- Fact: one row per line of a valuation.
create or replace view fact_valuation_line as
select
  l.valuation_id,
  l.pay_item_id,
  l.cut_off,
  l.drive_id,
  d.project_id,
  l.project_code,
  l.drive_code,
  l.previous_quantity,
  l.quantity,
  l.to_date_quantity,
  l.held_quantity,
  l.previous_amount,
  l.amount,
  l.to_date_amount,
  l.source_count,
  l.incomplete_count,
  l.basis,
  c.change_number,
  c.changed_at
from valuation_line l
join drive d on d.id = l.drive_id
left join lateral (
  select * from record_changed where table_name = 'valuation' and record_id = l.valuation_id and l.state = 'certified' offset 0
) c on true;

comment on view fact_valuation_line is
  'Fact: one row per line of a valuation, as certified, or as it would be now. quantity and amount are of the period and add up over valuations; previous and '
  'to date do not.';
comment on column fact_valuation_line.held_quantity is 'Held apart, in no other quantity of this item. [unit of the item]';
comment on column fact_valuation_line.source_count is 'Records that changed the line since the valuation before.';
comment on column fact_valuation_line.incomplete_count is 'Records that fall under the item and lack what its rule asks for; null when certified.';
comment on column fact_valuation_line.change_number is
  'Last change of its valuation; null: not certified, so that the line follows the whole record and may differ at any time.';
comment on column fact_valuation_line.changed_at is 'When that change was made; null: not certified.';
comment on column fact_valuation_line.basis is 'Basis of the class of the records that changed it: agreed, noted, or both; null: none has a class.';
