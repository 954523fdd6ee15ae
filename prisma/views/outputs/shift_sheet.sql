-- One row per shift: the head of its sheet, and the digest by which a sheet on paper is compared with the record. The figures are those of
-- shift_advance.
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

comment on view shift_sheet is
  'One row per shift: state, times, crew lead, remark, and the digest of its content, by which a printed sheet is compared with the record.';
comment on column shift_sheet.production_day is 'Production day in which it starts, and in whose daily report it appears.';
comment on column shift_sheet.starts_local is 'starts_at in the project''s time zone.';
comment on column shift_sheet.ends_local is 'ends_at in the project''s time zone.';
comment on column shift_sheet.seconds is 'Length of the shift. [s]';
comment on column shift_sheet.crew_lead is 'Who led the crew.';
comment on column shift_sheet.digest is 'SHA-256 of the canonical form of its document, 64 hexadecimal digits. It changes with any change to the shift.';
comment on column shift_sheet.posted_by is 'Everyone who has posted it, in order of first posting.';
comment on column shift_sheet.posted_for is 'Party on whose behalf it was last posted, as JSON: code, name, kind and side at that time.';
comment on column shift_sheet.submitted_at is 'When the version in force was submitted; null: a draft.';
