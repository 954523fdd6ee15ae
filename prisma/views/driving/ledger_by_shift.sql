-- One row per shift with time booked.
create or replace view ledger_by_shift as
select p.code as project_code, d.code as drive_code, s.shift_date, n.name as shift_name, s.state::text as state, s.starts_at,
  l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id as drive_id, s.id as shift_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_by(d.id, 'shift', 'all', null, null, null) l
join shift s on s.id = l.key::int
join calendar_shift n on n.id = s.calendar_shift_id;

comment on view ledger_by_shift is 'Hours of a drive by shift, those with time booked. [h]';
