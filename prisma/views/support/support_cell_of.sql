-- Required, installed and missing support of a drive between bounds: support_cell_laid here, its cached results in schema report_kept.
create or replace function support_cell_of(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, rests_on text)
language sql stable begin atomic
  select * from support_cell_laid(support_cell_of.drive_id, support_cell_of.bounds);
end;

comment on function support_cell_of(int, numeric[]) is
  'Required against installed support of a drive between rising bounds (driven metres), by stretch, part, item and zone; missing: local shortfall, whatever '
  'the limit, in the item''s unit. Decision support; docs/calculations.md gives the rules.';
