-- The demand where a design section governs, otherwise by the standards of all classes considered at the place: for each item and zone
-- the heaviest demand, that is the larger quantity per metre or the smaller spacing, with the smaller tolerance, so that what satisfies it
-- satisfies each of them. Demands with other pieces per row, with or without a spacing around, or for another sector, are separate rows.
-- standard_support_id: the standard with the heaviest demand; null: that of the section.
create or replace function support_demand_of(design_section_id int, standard_support_ids int[])
returns table (
  support_item_id int, zone text, quantity_per_m numeric, tolerance_percent numeric, spacing_mm int, tolerance_mm int, pieces_per_row int,
  from_deg numeric, to_deg numeric, standard_support_id int, around_spacing_mm int, around_tolerance_mm int)
language sql stable begin atomic
  select i.support_item_id, i.zone, max(i.quantity_per_m), min(i.tolerance_percent), (min(i.spacing_m) * 1000)::int, (min(i.spacing_tolerance_m) * 1000)::int,
    i.pieces_per_row, i.from_deg, i.to_deg,
    (array_agg(i.standard_support_id order by i.quantity_per_m desc, i.tolerance_percent, i.spacing_m, i.spacing_tolerance_m, i.around_spacing_m,
      i.around_tolerance_m, i.standard_support_id))[1],
    (min(i.around_spacing_m) * 1000)::int, (min(i.around_tolerance_m) * 1000)::int
  from (
    select s.support_item_id, s.zone, s.quantity_per_m, s.tolerance_percent, s.spacing_m, s.spacing_tolerance_m, s.pieces_per_row, s.from_deg, s.to_deg,
      s.around_spacing_m, s.around_tolerance_m,
      null::int as standard_support_id
    from design_section_item s where s.design_section_id = support_demand_of.design_section_id
    union all
    select s.support_item_id, s.zone, s.quantity_per_m, s.tolerance_percent, s.spacing_m, s.spacing_tolerance_m, s.pieces_per_row, s.from_deg, s.to_deg,
      s.around_spacing_m, s.around_tolerance_m,
      s.standard_support_id
    from standard_support_item s
    where support_demand_of.design_section_id is null and s.standard_support_id = any (support_demand_of.standard_support_ids)
  ) i
  group by i.support_item_id, i.zone, i.pieces_per_row, i.from_deg, i.to_deg, i.spacing_m is null, i.around_spacing_m is null;
end;

comment on function support_demand_of(int, int[]) is
  'What a design section demands, else the heaviest of what standards demand, by item and zone: quantity per metre [unit/m] and tolerance [%], or spacing '
  'with tolerance [mm], pieces in a row or spacing with tolerance around the arc [mm], and sector [deg]; with the standard whose demand is the heaviest.';
