-- Factor for a quantity that is paid with an allowance.
create or replace function allowance_factor(allowance_percent numeric) returns numeric language sql immutable parallel safe
return 1 + coalesce(allowance_percent, 0) / 100;

comment on function allowance_factor(numeric) is 'Factor of a quantity that is paid with an allowance [%]; 1 without one.';
