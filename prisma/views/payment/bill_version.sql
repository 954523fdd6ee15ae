-- One row per version of the bill.
create or replace view bill_version as
select
  p.code as project_code, d.code as drive_code, b.version, b.valid_from, n.valid_until, b.currency, b.minor_units, b.remark, b.locked_at,
  i.item_count, i.amount, b.id as bill_id, d.id as drive_id
from bill b
join drive d on d.id = b.drive_id
join project p on p.id = d.project_id
left join lateral (select min(later.valid_from) - 1 as valid_until from bill later where later.drive_id = b.drive_id and later.valid_from > b.valid_from) n
  on true
cross join lateral (
  select count(*)::int as item_count, coalesce(sum(round(i.quantity * i.rate, b.minor_units)), round(0::numeric, b.minor_units)) as amount
  from pay_item i where i.bill_id = b.id
) i;

comment on view bill_version is 'The versions of the bills with their amounts. On a date the version counts whose valid_from is the last on or before it.';
comment on column bill_version.valid_until is 'Day before the next version counts; null where none follows.';
comment on column bill_version.minor_units is 'Decimals of an amount, by the currency.';
comment on column bill_version.locked_at is 'Since when it is used by what is certified; null: not used.';
comment on column bill_version.amount is 'Sum of the rounded amounts of its items. [currency]';
