-- One row per alert ever raised, including cleared ones.
create or replace view alert_register as
select p.code as project_code, d.code as drive_code, a.number, a.kind, a.rule, a.subject, a.value, a.limit_value, a.unit, a.text, a.raised_at, a.raised_by,
  a.acknowledged_at, a.acknowledged_by, a.acknowledgement, a.cleared_at, a.cleared_by, a.clearance, a.cleared_at is null as is_open, a.drive_id,
  timezone(p.time_zone, a.raised_at)::date as raised_on
from alert a
join drive d on d.id = a.drive_id
join project p on p.id = d.project_id;

comment on view alert_register is
  'The alerts of each drive: what was raised when, who acknowledged it for what reason, and when it was cleared. Decision support: the responsible person and '
  'the local code decide.';
comment on column alert_register.number is '1, 2, 3 … in the project.';
comment on column alert_register.kind is 'Kind of alert, as in alert_kind.';
comment on column alert_register.rule is 'Code of the rule; null: a hold point that was passed, which needs none.';
comment on column alert_register.subject is 'What in the drive it is about.';
comment on column alert_register.value is 'When it was raised, in the unit; null: not known.';
comment on column alert_register.limit_value is 'What it passed, in the unit; null: there is no figure.';
comment on column alert_register.unit is 'Unit of both.';
comment on column alert_register.text is 'In words, as it was raised.';
comment on column alert_register.raised_at is 'When it was raised.';
comment on column alert_register.raised_by is 'Who made the change that raised it; drivebook: the clock.';
comment on column alert_register.acknowledged_at is 'When it was acknowledged; null: not.';
comment on column alert_register.acknowledged_by is 'Who acknowledged it.';
comment on column alert_register.acknowledgement is 'The reason given.';
comment on column alert_register.cleared_at is 'When it was cleared; null: it is open.';
comment on column alert_register.cleared_by is 'Who made the change that cleared it; drivebook: the clock.';
comment on column alert_register.clearance is 'ended: what it says holds no longer; rule_off: its rule was removed, switched off or given to another drive.';
comment on column alert_register.is_open is 'Whether it holds still.';
comment on column alert_register.raised_on is 'Local date on which it was raised.';
