-- One row per rule of kind cover_below that is met. If less than the threshold is left to drive, the face must be free to advance over all of it.
create or replace function alert_cover(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, 'face'::text as subject, far.m as value, far.least_m as limit_value, 'm'::text as unit,
    case when c.has_requirement
      then format('The face may go %s m on, as probed; the minimum is %s m.', far.m, far.least_m)
      else format('%s m ahead of the face are probed; the minimum is %s m. No probe requirement is in force.', far.m, far.least_m) end as text
  from alert_rule_of_drive r
  join drive d on d.id = r.drive_id
  join probe_cover c on c.drive_id = r.drive_id
  cross join lateral (
    select coalesce(c.permitted_m, c.cover_m) as m, least(r.threshold,
      greatest(drive_length(d.start_chainage_m, d.end_chainage_m) - c.face_m, 0)) as least_m
  ) far
  where r.drive_id = alert_cover.drive_id and r.kind = 'cover_below' and far.m < far.least_m;
end;

comment on function alert_cover(int) is 'In a drive: alerts of kind cover_below that hold. Decision support: the responsible person decides.';
