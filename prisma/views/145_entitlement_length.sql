-- How much of an interval of driven metres lies in a set of them; 0 where there is none.
create or replace function length_within(from_m numeric, to_m numeric, within nummultirange) returns numeric language sql immutable
return coalesce((select sum(upper(r) - lower(r)) from unnest(nummultirange(numrange(from_m, to_m)) * within) r), 0.000);

comment on function length_within(numeric, numeric, nummultirange) is 'Metres of an interval that lie in a set of intervals. [m]';

-- One row a drive with something countersigned: the metres that count for time entitlement, being those that countersigned shifts have bored.
create or replace view entitlement_length as
select b.drive_id, range_agg(numrange(b.from_m, b.to_m)) as counted, sum(b.to_m - b.from_m) as counted_m
from boring b join shift s on s.id = b.shift_id
where s.state = 'countersigned'
group by b.drive_id;

comment on view entitlement_length is 'Driven metres that countersigned shifts have bored, as a set of intervals and their length. [m]';
