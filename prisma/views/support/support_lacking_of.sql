-- The shortfall of strokes against the support demanded of them, by kind: stroke and gap of support_judged_of.
-- It reads all of a drive, and its results are cached: prisma/views/kept.
create or replace function support_lacking_of(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable begin atomic
  select j.kind, j.cell, j.from_m, j.to_m, j.support_item_id, j.zone, j.length_m, j.required, j.tolerated, j.installed, j.missing, j.short_from_m, j.rests_on,
    j.demanded_from_m, j.demanded_to_m
  from support_judged_of(support_lacking_of.drive_id, null) j where j.kind in ('stroke', 'gap');
end;

comment on function support_lacking_of(int) is
  'What strokes lack of the support demanded of them, whether due yet or not. Rows by kind: stroke (what lacks per metre; without item: length not '
  'assessed) and gap (in a spacing); missing: in the item''s unit; demanded_from_m, demanded_to_m: where in the stroke it is demanded [driven m]; '
  'short_from_m: the place from which a stroke counts as short [m]; rests_on: what demands it. Decision support; docs/calculations.md gives the rules.';
