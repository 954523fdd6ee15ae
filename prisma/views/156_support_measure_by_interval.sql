-- support_measure_in_intervals at 10 m, for clients that read views only.
create or replace view support_measure_by_interval as
select m.*
from drive d
join project p on p.id = d.project_id
cross join lateral support_measure_in_intervals(p.code, d.code, 10) m;

comment on view support_measure_by_interval is
  'What the support of a drive measures by 10 m of chainage, item and zone; other lengths by support_measure_in_intervals. Figures as in support_measure.';
