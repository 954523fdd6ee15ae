-- Gaps in the spacing, as they are kept: what is kept stands up to a place only where no spacing is demanded, so there are none.
-- It is read as a whole, and the setting keeps it from being inlined: readings are planned for the number of rows said here, whatever the statistics.
create or replace function support_gap_of(drive_id int)
returns table (
  support_item_id int, zone text, pieces_per_row int, from_deg numeric, to_deg numeric, from_m numeric, to_m numeric, spacing_m numeric,
  tolerance_m numeric, places_mm int[], is_open boolean, unplaced int, rests_on text, direction text, around_spacing_m numeric, around_tolerance_m numeric,
  gap_from_deg numeric, gap_to_deg numeric, found_m numeric, allowed_m numeric)
language sql stable rows 1000 set search_path = pg_catalog set plan_cache_mode = force_generic_plan
begin atomic
  select k.support_item_id, k.zone, k.pieces_per_row, k.from_deg, k.to_deg, k.from_m, k.to_m, k.spacing_m, k.tolerance_m, k.places_mm, k.is_open, k.unplaced,
    k.rests_on, k.direction, k.around_spacing_m, k.around_tolerance_m, k.gap_from_deg, k.gap_to_deg, k.found_m, k.allowed_m
  from kept.gap k where k.drive_id = support_gap_of.drive_id;
end;

comment on function support_gap_of(int) is 'Gaps in the spacing, as they are kept: see support_gap_of of schema report.';
