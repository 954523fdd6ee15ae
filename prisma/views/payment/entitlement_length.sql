-- One row per drive: the metres that count for time entitlement, namely those bored by countersigned shifts.
create or replace view entitlement_length as
select d.id as drive_id, coalesce(range_agg(numrange(b.from_m, b.to_m)), '{}') as counted, coalesce(sum(b.to_m - b.from_m), 0.000) as counted_m
from drive d
left join (boring b join shift s on s.id = b.shift_id and s.state = 'countersigned') on b.drive_id = d.id
group by d.id;

comment on view entitlement_length is 'Driven metres that countersigned shifts have bored, as a set of intervals and their length. [m]';
