-- One row per drive, production day, item and zone.
create or replace view support_by_day as
select project_code, drive_code, production_day, item_code, kind, description, unit, zone, sum(quantity) as quantity, count(*)::int as row_count, drive_id
from support_row
group by project_code, drive_code, production_day, item_code, kind, description, unit, zone, drive_id;

comment on view support_by_day is 'Support installed by production day, item and zone; over the days it sums to support_total.';
