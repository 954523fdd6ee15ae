-- Unsupported length behind the face, one row per zone: as defined in unsupported_judged.
create or replace function unsupported_length(project text, drive text)
returns table (
  project_code text, drive_code text, zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric,
  supported_to_m numeric, supported_to_chainage_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric,
  overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric, state text, drive_id int, rests_on text)
language sql stable begin atomic
  select p.code, d.code, u.zone, u.face_m, u.face_chainage_m, u.limit_m, u.unsupported_m, u.supported_to_m, u.supported_to_chainage_m, u.complete_to_m,
    u.complete_to_chainage_m, u.incomplete_m, u.overdue_m, u.not_assessed_m, u.overdue_not_assessed_m, u.state, d.id, u.rests_on
  from drive d
  join project p on p.id = d.project_id
  cross join lateral unsupported_of(d.id) u
  where p.code = unsupported_length.project and d.code = unsupported_length.drive;
end;

comment on function unsupported_length(text, text) is
  'Unsupported length behind the face of a drive, one row per zone. limit_m: length behind the face within which the zone''s support may be incomplete, of the '
  'revision in force at the face, null when none does [m]; each place is due by the revision that governs it; unsupported_m: from the face back to the nearest '
  'stroke whose support is complete [m]; supported_to_m: where that one ends [m]; complete_to_m: to where everything from the start of the drive is complete '
  '[m]; incomplete_m: length of all incomplete strokes [m]; overdue_m: the part of them beyond the limit [m]; not_assessed_m: driven length without a class, '
  'or where a class considered there has no standard, never counted as supported [m]; overdue_not_assessed_m: the part of it beyond the limit, in strokes '
  'that touch it [m]; state: within, exceeded, not_assessed, no_limit; rests_on: what demands the support of the incomplete strokes, in words. Decision '
  'support: it shows what the record holds, which may be late; the project''s designer, the responsible engineer on site and the local code decide, by '
  'inspection.';
