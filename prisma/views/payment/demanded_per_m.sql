-- The demand of a support item per metre of drive: as given, for rows of pieces from their spacing, or for a pattern from its spacings.
create or replace function demanded_per_m(quantity_per_m numeric, pieces_per_row int, spacing_m numeric, around_spacing_m numeric, from_deg numeric,
  to_deg numeric,
  bored_diameter_m numeric)
returns numeric language sql immutable parallel safe
return coalesce(quantity_per_m, pieces_per_row / spacing_m, pattern_per_m(bored_diameter_m, from_deg, to_deg, spacing_m, around_spacing_m));

comment on function demanded_per_m(numeric, int, numeric, numeric, numeric, numeric, numeric) is
  'Quantity of an item of support that a metre of drive demands. [unit of the item/m]';
