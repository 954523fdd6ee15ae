-- Required, installed and missing support of a drive between rising bounds (driven metres), by stretch, part, item and zone: the cells of support_judged_of.
create or replace function support_cell_laid(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, rests_on text)
language sql stable begin atomic
  select j.cell, j.from_m, j.to_m, j.part, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated, j.installed, j.missing, j.rests_on
  from support_judged_of(support_cell_laid.drive_id, support_cell_laid.bounds) j where j.kind = 'cell';
end;

comment on function support_cell_laid(int, numeric[]) is
  'Required against installed support of a drive between rising bounds (driven metres), by stretch, part, item and zone; missing: local shortfall, '
  'whatever the limit, in the item''s unit; rests_on: what demands it. Decision support; docs/calculations.md gives the rules.';
