-- One row per item of a version of the bill. Each amount is rounded once, separately; sums are of the rounded amounts.
create or replace view bill_item as
select
  p.code as project_code, d.code as drive_code, b.version, b.valid_from, n.valid_until, b.currency, b.minor_units, i.position, i.reference,
  i.group_code, i.group_title, i.description, i.unit, i.kind, i.decimals, i.quantity, i.rate,
  round(i.quantity * i.rate, b.minor_units) as amount, b.locked_at, i.id as pay_item_id, b.id as bill_id, d.id as drive_id
from pay_item i
join bill b on b.id = i.bill_id and b.drive_id = i.drive_id
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
left join lateral (select min(later.valid_from) - 1 as valid_until from bill later where later.drive_id = b.drive_id and later.valid_from > b.valid_from) n
  on true;

comment on view bill_item is 'The items of the bills, one row per item and version. On a date the version counts whose valid_from is the last on or before it.';
comment on column bill_item.valid_until is 'Day before the next version counts; null where none follows.';
comment on column bill_item.minor_units is 'Decimals of the amount, by the currency.';
comment on column bill_item.position is 'Place in the bill, rising.';
comment on column bill_item.unit is 'Unit of quantity, as the contract writes it.';
comment on column bill_item.kind is 'quantity: by what was measured; lump: a sum, by its progress; time: by the time it lasts.';
comment on column bill_item.decimals is 'Number of decimals to which a measured quantity is rounded.';
comment on column bill_item.quantity is 'Quantity of the bill; 0 where only the rate is agreed. [unit]';
comment on column bill_item.rate is 'Price of one unit. [currency/unit]';
comment on column bill_item.amount is 'quantity × rate, rounded once to the minor units, half away from zero. [currency]';
comment on column bill_item.locked_at is 'Since when the version is used by what is certified; null: not used.';
