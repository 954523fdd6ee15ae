-- One row per activity, undivided, in its shift: code, cause, party, equipment. ledger_entry divides the same by production day and adds the place.
create or replace view shift_activity as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  a.started_at,
  a.ended_at,
  timezone(p.time_zone, a.started_at) as starts_local,
  timezone(p.time_zone, a.ended_at) as ends_local,
  round(extract(epoch from a.ended_at - a.started_at), 3) as seconds,
  c.code,
  c.description,
  c.counts_as::text as counts_as,
  a.responsible_party::text as responsible_party,
  q.code as equipment_code,
  a.remark,
  a.drive_id,
  a.shift_id
from activity a
join shift s on s.id = a.shift_id
join calendar_shift n on n.id = s.calendar_shift_id
join activity_code c on c.id = a.activity_code_id
left join equipment q on q.id = a.equipment_id
join drive d on d.id = a.drive_id
join project p on p.id = d.project_id;

comment on view shift_activity is 'One row per activity of a shift, whole: time, code, time class, responsible party, equipment, remark. [s]';
comment on column shift_activity.starts_local is 'started_at in the project''s time zone.';
comment on column shift_activity.ends_local is 'ended_at in the project''s time zone.';
comment on column shift_activity.seconds is 'Length of the activity. [s]';
comment on column shift_activity.counts_as is 'Time class of the code.';
