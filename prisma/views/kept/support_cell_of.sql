-- Required, installed and missing support of a drive between bounds: from the cache if it has these bounds; otherwise the lines are laid, using the
-- cached shortfall of strokes. Which of the two applies is decided first, so that only that one is planned.
create or replace function support_cell_of(drive_id int, bounds numeric[])
returns table (
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, rests_on text)
language plpgsql stable rows 10000 set search_path = pg_catalog as $$
#variable_conflict use_column
begin
  if exists (select from kept.judgement k where k.drive_id = support_cell_of.drive_id and k.bounds = support_cell_of.bounds) then
    return query select k.cell, k.from_m, k.to_m, k.part, k.support_item_id, k.zone, k.length_m, k.required, k.tolerated, k.installed, k.missing, k.rests_on
      from kept.cell k where k.drive_id = support_cell_of.drive_id;
  else
    return query select * from report_kept.support_cell_laid(support_cell_of.drive_id, support_cell_of.bounds);
  end if;
end $$;

comment on function support_cell_of(int, numeric[]) is
  'What stretches of a drive require, hold and lack, as it is kept or laid anew: see support_cell_of of schema report.';
