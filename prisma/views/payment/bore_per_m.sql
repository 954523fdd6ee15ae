-- What a metre of bore measures at a diameter. [m, m2, m3]
create or replace function bore_per_m(dimension text, diameter_m numeric) returns numeric language sql immutable parallel safe as $$
  select case dimension when 'length' then 1 when 'area' then diameter_m * 3.14159265358979323846
    when 'volume' then diameter_m * diameter_m * 0.78539816339744830962 end
$$;

comment on function bore_per_m(text, numeric) is 'What a metre of bore measures at a diameter: length, surface, volume. [m, m2, m3]';
