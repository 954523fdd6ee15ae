-- report.support_in_intervals at 10 m, for clients that read views only.
create or replace view report.support_by_interval as
select s.*
from public.drive d
join public.project p on p.id = d.project_id
cross join lateral report.support_in_intervals(p.code, d.code, 10) s;

comment on view report.support_by_interval is
  'Support installed by 10 m of chainage, item and zone; other lengths by report.support_in_intervals. Sums to report.support_total.';
