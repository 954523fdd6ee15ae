-- Dimension: items of the bills, with their version of the bill.
create or replace view dim_pay_item as
select i.id as pay_item_id, d.project_id, i.drive_id, p.code as project_code, d.code as drive_code, b.version as bill_version, b.valid_from as bill_valid_from,
  b.currency::text as currency, i.reference, i.group_code, i.group_title, i.position, i.description, i.unit, i.kind::text as kind, i.decimals,
    i.quantity as bill_quantity, i.rate,
  greatest(h.change_number, o.change_number) as change_number, greatest(h.changed_at, o.changed_at) as changed_at
from pay_item i
join bill b on b.id = i.bill_id
join drive d on d.id = i.drive_id
join project p on p.id = d.project_id
left join lateral (select * from record_changed where table_name = 'pay_item' and record_id = i.id offset 0) h on true
left join lateral (select * from record_changed where table_name = 'bill' and record_id = b.id offset 0) o on true;

comment on view dim_pay_item is 'Dimension: one row per item of a version of a bill.';
comment on column dim_pay_item.currency is 'Currency of the bill, ISO 4217.';
comment on column dim_pay_item.kind is 'Kind of item: how its amount is determined.';
comment on column dim_pay_item.position is 'Its place in the bill.';
comment on column dim_pay_item.change_number is 'Last change of the item or of its version of the bill.';
