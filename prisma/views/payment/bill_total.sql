-- One row per version of the bill and group; items without a group form one without a code.
create or replace view bill_total as
select
  project_code, drive_code, version, valid_from, currency, group_code, min(group_title) as group_title, min(position) as position,
  count(*)::int as item_count, sum(amount) as amount, bill_id, drive_id
from bill_item
group by project_code, drive_code, version, valid_from, currency, group_code, bill_id, drive_id;

comment on view bill_total is 'Amounts of the bills by version and group: sums of the rounded amounts of the items.';
comment on column bill_total.group_code is 'Null for the items without a group.';
comment on column bill_total.position is 'Place of its first item in the bill.';
comment on column bill_total.amount is 'Sum of the amounts of its items. [currency]';
