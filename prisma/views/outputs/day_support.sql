-- One row per drive, production day, zone and item: installed by the shifts that start in the day. The lines of a shift are found by their index
-- (offset 0), so that a query for one day reads its shifts only. support_by_day instead counts by the time of each line.
create or replace view day_support as
select
  s.project_code,
  s.drive_code,
  s.production_day,
  r.zone,
  i.code as item_code,
  i.description,
  r.unit::text as unit,
  sum(r.quantity) as quantity,
  s.drive_id
from shift_sheet s
cross join lateral (select * from support_installed where shift_id = s.shift_id offset 0) r
join support_item i on i.id = r.support_item_id
group by s.project_code, s.drive_code, s.production_day, r.zone, i.code, i.description, r.unit, s.drive_id;

comment on view day_support is 'Support installed by the shifts that start in each production day, by zone and item. Quantities, not a judgement.';
comment on column day_support.quantity is 'Quantity in the item''s unit.';
