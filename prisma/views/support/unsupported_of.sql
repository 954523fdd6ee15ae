-- Unsupported length behind the face of a drive, one row per zone: unsupported_judged here, its cached results in schema report_kept.
create or replace function unsupported_of(drive_id int)
returns table (
  zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric,
  supported_to_m numeric, supported_to_chainage_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric,
  overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric, state text, rests_on text)
language sql stable begin atomic
  select * from unsupported_judged(unsupported_of.drive_id);
end;

comment on function unsupported_of(int) is 'Unsupported length behind the face of a drive, one row per zone: see unsupported_length. [m]';
