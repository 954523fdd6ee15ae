-- One row per drive and time class.
create or replace view ledger_by_time_class as
select p.code as project_code, d.code as drive_code, l.key as counts_as,
  l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_by(d.id, 'time_class', 'all', null, null, null) l;

comment on view ledger_by_time_class is 'Hours of a drive by what they count as. [h]';
