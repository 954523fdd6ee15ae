-- One row per rule of kind unsupported_above and zone where it is met. value: from the face back to where the first incomplete or unassessed stroke begins.
create or replace function alert_unsupported(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, u.zone as subject, u.face_m - u.complete_to_m as value, u.limit_m as limit_value, 'm'::text as unit,
    case when u.state = 'exceeded'
      then format('Support in zone %s is incomplete from %s on, %s m behind the face; %s m lie beyond the limit%s.', u.zone,
        chainage_text(u.complete_to_chainage_m),
        u.face_m - u.complete_to_m, u.overdue_m, coalesce(' of ' || u.limit_m || ' m', ''))
      else format('Support in zone %s is not assessed from %s on, %s m behind the face; %s m lie beyond the limit%s.', u.zone,
        chainage_text(u.complete_to_chainage_m),
        u.face_m - u.complete_to_m, u.overdue_not_assessed_m, coalesce(' of ' || u.limit_m || ' m', '')) end as text
  from alert_rule_of_drive r
  join drive d on d.id = r.drive_id
  join project p on p.id = d.project_id
  cross join lateral unsupported_length(p.code, d.code) u
  where r.drive_id = alert_unsupported.drive_id and r.kind = 'unsupported_above' and u.state in ('exceeded', 'not_assessed');
end;

comment on function alert_unsupported(int) is
  'In a drive: alerts of kind unsupported_above that hold. Decision support: it shows what the record holds, which may be late; the responsible engineer and '
  'the local code decide, by inspection.';
