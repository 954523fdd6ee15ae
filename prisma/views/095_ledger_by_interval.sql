-- ledger_in_intervals at 100 m, for clients that read views only.
create or replace view ledger_by_interval as
select l.*
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_in_intervals(p.code, d.code, 100) l;

comment on view ledger_by_interval is 'Hours of a drive by 100 m of chainage; other lengths by ledger_in_intervals. [h]';
