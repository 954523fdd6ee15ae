-- report.support_in_intervals at 10 m, for clients that read views only.
create or replace view support_by_interval as
select p.code as project_code, d.code as drive_code, s.from_chainage_m, s.to_chainage_m, s.item_code, s.kind, s.description, s.unit, s.zone, s.quantity,
  s.row_count, d.id as drive_id, s.from_m, s.to_m
from drive d
join project p on p.id = d.project_id
cross join lateral support_in_intervals(p.code, d.code, 10) s;

comment on view support_by_interval is
  'Support installed by 10 m of chainage, item and zone; other lengths by support_in_intervals. Sums to support_total.';
