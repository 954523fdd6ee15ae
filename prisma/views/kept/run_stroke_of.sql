-- The strokes of which runs are made, as it is kept what they lack: see run_stroke_of of schema report.
create or replace function run_stroke_of(drive_id int)
returns table (
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric)
language sql stable begin atomic
  select * from support_lacking_of(run_stroke_of.drive_id);
end;

comment on function run_stroke_of(int) is 'The strokes of which runs are made, as it is kept what they lack: see run_stroke_of of schema report.';
