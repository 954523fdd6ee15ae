-- The length of an interval of driven metres that lies in a set of intervals; 0 if the set is empty.
create or replace function length_within(from_m numeric, to_m numeric, within nummultirange) returns numeric language sql immutable
return coalesce((select sum(upper(r) - lower(r)) from unnest(nummultirange(numrange(from_m, to_m)) * within) r), 0.000);

comment on function length_within(numeric, numeric, nummultirange) is 'Metres of an interval that lie in a set of intervals. [m]';
