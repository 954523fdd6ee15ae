-- ledger_in_intervals at 100 m, for clients that read views only.
create or replace view ledger_by_interval as
select p.code as project_code, d.code as drive_code, l.from_chainage_m, l.to_chainage_m, l.seconds, l.hours, l.share, l.activity_count, l.mean_hours,
  l.longest_hours, d.id as drive_id, l.from_m, l.to_m
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_in_intervals(p.code, d.code, 100) l;

comment on view ledger_by_interval is 'Hours of a drive by 100 m of chainage; other lengths by ledger_in_intervals. [h]';
