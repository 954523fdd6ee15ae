-- How much of an interval of driven metres lies in a set of them; 0 where there is none.
create or replace function length_within(from_m numeric, to_m numeric, within nummultirange) returns numeric language sql immutable
return coalesce((select sum(upper(r) - lower(r)) from unnest(nummultirange(numrange(from_m, to_m)) * within) r), 0.000);

comment on function length_within(numeric, numeric, nummultirange) is 'Metres of an interval that lie in a set of intervals. [m]';

-- One row a drive: the metres that count for time entitlement, being those that countersigned shifts have bored.
create or replace view entitlement_length as
select d.id as drive_id, coalesce(range_agg(numrange(b.from_m, b.to_m)), '{}') as counted, coalesce(sum(b.to_m - b.from_m), 0.000) as counted_m
from drive d
left join (boring b join shift s on s.id = b.shift_id and s.state = 'countersigned') on b.drive_id = d.id
group by d.id;

comment on view entitlement_length is 'Driven metres that countersigned shifts have bored, as a set of intervals and their length. [m]';
