-- Unsupported length behind the face of a drive, judged by what its strokes lack as that is kept and judged: see unsupported_of of schema report.
create or replace function unsupported_of(drive_id int)
returns table (
  zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric,
  supported_to_m numeric, supported_to_chainage_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric,
  overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric, state text, rests_on text)
language sql stable begin atomic
  select * from unsupported_judged(unsupported_of.drive_id);
end;

comment on function unsupported_of(int) is 'Unsupported length behind the face of a drive, one row a zone: see unsupported_length. [m]';
