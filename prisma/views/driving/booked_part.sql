-- One row per activity and production day that it falls in: the ledger without the place, which ledger_entry adds. The
-- activities of each shift are found by its index (offset 0), so that a query for one drive reads that drive only.
create or replace view booked_part as
select
  s.project_code,
  s.drive_code,
  s.shift_date,
  s.shift_name,
  s.state,
  s.production_day,
  greatest(a.started_at, s.starts_at) as started_at,
  least(a.ended_at, s.ends_at) as ended_at,
  round(seconds_within(a.started_at, a.ended_at, s.starts_at, s.ends_at), 3) as seconds,
  c.code,
  c.description,
  c.counts_as::text as counts_as,
  a.responsible_party::text as responsible_party,
  q.code as equipment_code,
  a.remark,
  a.started_at as activity_started_at,
  s.drive_id,
  s.shift_id,
  a.id as activity_id,
  c.counts_as not in ('boring', 'regripping', 'outside_working_time') as non_boring,
  coalesce(c.planned, c.counts_as not in ('breakdown', 'ground', 'waiting')) as planned
from shift_day s
cross join lateral (
  select * from activity where shift_id = s.shift_id and started_at < s.ends_at and ended_at > s.starts_at offset 0
) a
join activity_code c on c.id = a.activity_code_id
left join equipment q on q.id = a.equipment_id;

comment on view booked_part is 'Part of each activity that falls in a production day, with its code, party and equipment; ledger_entry adds the place. [s]';
