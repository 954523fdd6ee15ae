-- The circumference of a circle, with π to 20 decimals: with face_area the only place where π is written as a decimal.
create or replace function circumference(diameter_m numeric) returns numeric language sql immutable parallel safe as $$
  select 3.14159265358979323846 * diameter_m
$$;

comment on function circumference(numeric) is 'Circumference of a circle of a diameter [m]: of a bore, its surface by the metre. [m]';
