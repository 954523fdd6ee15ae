-- One row per condition that raises an alert at the moment asked for: an active rule and its subject, or a hold point passed without a release.
create or replace view alert_condition as
select p.code as project_code, d.code as drive_code, c.kind, c.rule, c.subject, c.value, c.limit_value, c.unit, c.text, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select 'cover_below' as kind, a.* from alert_cover(d.id) a
  union all select 'hold_point_passed', a.* from alert_hold_point(d.id) a
  union all select 'thrust_above', a.* from alert_thrust(d.id) a
  union all select 'unsupported_above', a.* from alert_unsupported(d.id) a
  union all select 'inflow_above', a.* from alert_inflow(d.id) a
  union all select 'shift_late', a.* from alert_shift(d.id) a
  union all select 'metres_open', a.* from alert_metres(d.id) a
  union all select 'minutes_open', a.* from alert_minutes(d.id) a
  union all select 'class_decision_open', a.* from alert_class_decision(d.id) a
) c;

comment on view alert_condition is
  'What alerts are raised for, as it holds now: rule, kind, subject, value, limit, in words. Decision support: it shows what the record holds, which may be '
  'late; the responsible person and the local code decide.';
comment on column alert_condition.kind is 'Kind of alert, as in alert_kind.';
comment on column alert_condition.rule is 'Code of the rule; null: a hold point that was passed, which needs none.';
comment on column alert_condition.subject is
  'Its subject in the drive: face, zone, shift, place, hole, decision or hold point; a rule has one row per subject.';
comment on column alert_condition.value is 'In the unit; null: not known.';
comment on column alert_condition.limit_value is 'What it passed, in the unit; null: there is no figure.';
comment on column alert_condition.unit is 'Unit of both.';
comment on column alert_condition.text is 'The same in words.';
