-- unsupported_length of each drive: one row per drive and zone.
create or replace view unsupported as
select p.code as project_code, d.code as drive_code, u.zone, u.face_m, u.face_chainage_m, u.limit_m, u.unsupported_m, u.supported_to_m,
  u.supported_to_chainage_m, u.complete_to_m, u.complete_to_chainage_m, u.incomplete_m, u.overdue_m, u.not_assessed_m, u.overdue_not_assessed_m,
  u.state, d.id as drive_id, u.rests_on
from drive d
join project p on p.id = d.project_id
cross join lateral unsupported_length(p.code, d.code) u;

comment on view unsupported is
  'report.unsupported_length of every drive. Decision support: it shows what the record holds; the project''s designer, the responsible engineer on site and '
  'the local code decide, by inspection.';
comment on column unsupported.limit_m is 'Length behind the face within which the zone''s support may be incomplete; null: none is set. [m]';
comment on column unsupported.unsupported_m is 'From the face back to the nearest stroke whose support is complete. [m]';
comment on column unsupported.complete_to_m is 'To where everything from the start of the drive is complete. [m]';
comment on column unsupported.overdue_m is 'Length of incomplete strokes beyond the limit. [m]';
comment on column unsupported.not_assessed_m is 'Driven length without a class or a standard; never counted as supported. [m]';
comment on column unsupported.state is 'within, exceeded, not_assessed or no_limit.';
comment on column unsupported.rests_on is 'By what the support of the incomplete strokes is demanded, in words.';
