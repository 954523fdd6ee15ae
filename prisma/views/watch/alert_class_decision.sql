-- One row per rule of kind class_decision_open and class decision that was proposed longer ago than its threshold and is not agreed.
create or replace function alert_class_decision(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, c.number::text as subject, age.d as value, r.threshold as limit_value, 'd'::text as unit,
    format('Class decision %s, %s from %s to %s, is %s %s days after it was proposed; the limit is %s days.', c.number, c.ground_class_code,
      chainage_text(c.from_chainage_m),
      chainage_text(c.to_chainage_m), c.state, age.d, trim_scale(r.threshold)) as text
  from alert_rule_of_drive r
  join class_decision_register c on c.drive_id = r.drive_id and c.state in ('proposed', 'disputed') and c.withdrawn_by is null
  cross join lateral (select round(extract(epoch from (select moment_asked()) - c.proposed_at) / 86400, 3) as d) age
  where r.drive_id = alert_class_decision.drive_id and r.kind = 'class_decision_open'
    and (select moment_asked()) - c.proposed_at >= make_interval(secs => (r.threshold * 86400)::float8);
end;

comment on function alert_class_decision(int) is 'In a drive: alerts of kind class_decision_open that hold at the moment asked for.';
