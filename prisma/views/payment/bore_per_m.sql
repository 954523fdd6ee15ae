-- Length, area or volume per metre of bore at a diameter. [m, m2, m3]
create or replace function bore_per_m(dimension text, diameter_m numeric) returns numeric language sql immutable parallel safe
return case dimension when 'length' then 1 when 'area' then circumference(diameter_m)
    when 'volume' then face_area(diameter_m) end;

comment on function bore_per_m(text, numeric) is 'What a metre of bore measures at a diameter: length, surface, volume. [m, m2, m3]';
