-- One row a shift: what stands at the head of its sheet, and the digest by which a sheet on paper is compared with the record. The figures
-- are those of shift_advance.
create or replace view shift_sheet as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  s.state::text as state,
  production_day(s.starts_at, p.time_zone, p.day_start) as production_day,
  s.starts_at,
  s.ends_at,
  timezone(p.time_zone, s.starts_at) as starts_local,
  timezone(p.time_zone, s.ends_at) as ends_local,
  round(extract(epoch from s.ends_at - s.starts_at), 3) as seconds,
  s.crew_lead,
  s.remark,
  s.digest,
  s.posted_by,
  s.posted_for,
  s.submitted_at,
  s.drive_id,
  s.id as shift_id
from shift s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
join calendar_shift n on n.id = s.calendar_shift_id;

comment on view shift_sheet is 'One row a shift: state, times, crew lead, remark, and the digest of its content, by which a sheet on paper is compared with the record.';
comment on column shift_sheet.production_day is 'Production day in which it starts: the day of whose report it is a sheet.';
comment on column shift_sheet.starts_local is 'starts_at in the project''s time zone.';
comment on column shift_sheet.ends_local is 'ends_at in the project''s time zone.';
comment on column shift_sheet.seconds is 'Length of the shift. [s]';
comment on column shift_sheet.crew_lead is 'Who led the crew.';
comment on column shift_sheet.digest is 'SHA-256 of the canonical form of its document, 64 hexadecimal digits. It changes with whatever the shift says.';
comment on column shift_sheet.posted_by is 'Everyone who has posted it, in the order of their first posting.';
comment on column shift_sheet.posted_for is 'For which party it was last written, as JSON: code, name, kind, side at that moment.';
comment on column shift_sheet.submitted_at is 'When the version in force was submitted; null: a draft.';
