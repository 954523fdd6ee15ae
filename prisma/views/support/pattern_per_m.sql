-- Pieces per metre of drive of a pattern along and around: arc / (spacing along · spacing around), on the circumference as bored.
create or replace function pattern_per_m(bored_diameter_m numeric, from_deg numeric, to_deg numeric, spacing_m numeric, around_spacing_m numeric)
returns numeric language sql immutable parallel safe
return circumference(bored_diameter_m) * coalesce(arc_width(from_deg, to_deg), 360) / 360
    / (spacing_m * around_spacing_m);

comment on function pattern_per_m(numeric, numeric, numeric, numeric, numeric) is
  'Pieces per metre of drive of a pattern: arc / (spacing along · spacing around); a mean, ends of rows left out. [1/m]';
