-- One row per drive and ISO week of production days.
create or replace view ledger_by_week as
select p.code as project_code, d.code as drive_code, l.key as iso_week, to_date(l.key, 'IYYY-"W"IW') as first_day,
  l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_by(d.id, 'week', 'all', null, null, null) l;

comment on view ledger_by_week is 'Hours of a drive by ISO week, split at the production days. [h]';
comment on column ledger_by_week.first_day is 'Monday of the week.';
