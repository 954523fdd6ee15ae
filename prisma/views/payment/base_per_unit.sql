-- Base units per unit of a pay item: time is measured in seconds and paid in hours, mass is measured in kilograms and paid in kilograms or tonnes.
create or replace function base_per_unit(dimension text, unit text) returns int language sql immutable parallel safe as $$
  select case when dimension = 'hours' then 3600 when dimension = 'mass' and unit = 't' then 1000 else 1 end
$$;

comment on function base_per_unit(text, text) is 'Base units in a unit of a pay item: 3600 s in an h, 1000 kg in a t, else 1.';
