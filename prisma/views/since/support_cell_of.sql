-- What is required, installed and missing of a drive between bounds. Where these are the bounds that are kept: as it is kept, of the stretches up
-- to which that stands (cell_since); the others are laid. Else all are laid.
create or replace function support_cell_of(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, rests_on text)
language plpgsql stable rows 10000 set search_path = pg_catalog set plan_cache_mode = force_generic_plan as $$
#variable_conflict use_column
declare
  first int;
begin
  if exists (select from kept.judgement k where k.drive_id = support_cell_of.drive_id and k.bounds = support_cell_of.bounds) then
    first := report_since.cell_since(support_cell_of.drive_id);
  end if;
  return query select k.cell, k.from_m, k.to_m, k.part, k.support_item_id, k.zone, k.length_m, k.required, k.tolerated, k.installed, k.missing, k.rests_on
    from kept.cell k where k.drive_id = support_cell_of.drive_id and k.cell < first;
  return query select c.cell + coalesce(first, 1) - 1, c.from_m, c.to_m, c.part, c.support_item_id, c.zone, c.length_m, c.required, c.tolerated, c.installed,
      c.missing, c.rests_on
    from report_since.support_cell_laid(support_cell_of.drive_id, support_cell_of.bounds[coalesce(first, 1):]) c;
end $$;

comment on function support_cell_of(int, numeric[]) is
  'What stretches of a drive require, hold and lack, as it is kept as far as that stands, or laid anew: see support_cell_of of schema report.';
