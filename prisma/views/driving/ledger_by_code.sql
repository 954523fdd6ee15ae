-- One row per drive and activity code.
create or replace view ledger_by_code as
select p.code as project_code, d.code as drive_code, c.code, c.description, c.counts_as::text as counts_as,
  l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_by(d.id, 'code', 'all', null, null, null) l
join activity_code c on c.project_id = d.project_id and c.code = l.key;

comment on view ledger_by_code is 'Hours of a drive by activity code. [h]';
comment on column ledger_by_code.share is 'Part of the drive''s booked time; over the codes it sums to 1 exactly.';
comment on column ledger_by_code.longest_hours is 'The longest single activity. [h]';
