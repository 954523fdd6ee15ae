-- Cached unsupported length behind the face of a drive: see unsupported_of of schema report.
create or replace function unsupported_of(drive_id int)
returns table (
  zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric,
  supported_to_m numeric, supported_to_chainage_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric,
  overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric, state text, rests_on text)
language sql stable begin atomic
  select k.zone, k.face_m, k.face_chainage_m, k.limit_m, k.unsupported_m, k.supported_to_m, k.supported_to_chainage_m, k.complete_to_m,
    k.complete_to_chainage_m, k.incomplete_m, k.overdue_m, k.not_assessed_m, k.overdue_not_assessed_m, k.state, k.rests_on
  from kept.unsupported k where k.drive_id = unsupported_of.drive_id;
end;

comment on function unsupported_of(int) is 'Unsupported length behind the face of a drive, as it is kept: see unsupported_of of schema report. [m]';
