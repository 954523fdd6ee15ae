-- One row per drive, item and zone.
create or replace view support_total as
select project_code, drive_code, item_code, kind, description, unit, zone, sum(quantity) as quantity, count(*)::int as row_count, drive_id
from support_row
group by project_code, drive_code, item_code, kind, description, unit, zone, drive_id;

comment on view support_total is 'Support installed on a drive by item and zone, in the item''s unit.';
