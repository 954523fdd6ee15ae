-- The area of a face, π/4 · D² with π/4 to 20 decimals.
create or replace function face_area(diameter_m numeric) returns numeric language sql immutable parallel safe as $$
  select 0.78539816339744830962 * diameter_m * diameter_m
$$;

comment on function face_area(numeric) is 'Area of a face of a bored diameter [m]: the volume of a metre of bore. [m2]';
