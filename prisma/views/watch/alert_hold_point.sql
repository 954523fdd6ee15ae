-- One row per hold point that the face has passed without a valid release.
create or replace function alert_hold_point(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select null::text as rule, h.code as subject, -h.ahead_m as value, null::numeric as limit_value, 'm'::text as unit,
    format('Hold point %s at %s was passed without a release; the face stands %s m beyond it.', h.code, chainage_text(h.chainage_m), -h.ahead_m) as text
  from hold_point_register h
  where h.drive_id = alert_hold_point.drive_id and h.is_passed_unreleased;
end;

comment on function alert_hold_point(int) is 'In a drive: hold points passed without a release: alerts that need no rule. They decide nothing.';
