-- What one counting unit of a support item measures, by the dimensions of the item; null: the item has no such dimension.
create or replace function support_per_unit(dimension text, unit text, length_m numeric, mass_kg_per_m numeric, mass_kg_per_m2 numeric, mass_kg numeric,
  centre_line_diameter_m numeric, thickness_mm numeric)
returns numeric language sql immutable parallel safe
return case dimension
    when 'count' then case unit when 'nr' then 1 end
    when 'length' then case unit when 'nr' then length_m when 'm' then 1 end
    when 'area' then case unit when 'm2' then 1 end
    when 'volume' then case unit when 'm3' then 1 when 'm2' then thickness_mm / 1000 end
    when 'mass' then case unit when 'kg' then 1 when 't' then 1000 when 'm2' then mass_kg_per_m2 when 'm' then mass_kg_per_m
      when 'nr' then coalesce(mass_kg, mass_kg_per_m * coalesce(length_m, circumference(centre_line_diameter_m))) end
  end;

comment on function support_per_unit(text, text, numeric, numeric, numeric, numeric, numeric, numeric) is
  'What one of the unit that a support item is counted in measures. [nr, m, m2, m3, kg]';
