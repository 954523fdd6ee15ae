-- One row per drive and active alert rule.
create or replace view alert_rule_of_drive as
select d.id as drive_id, r.code as rule, r.kind, r.threshold
from alert_rule r
join drive d on d.project_id = r.project_id and d.id = coalesce(r.drive_id, d.id)
where r.is_on;

comment on view alert_rule_of_drive is 'The alert rules that are on, for each drive that they are for.';
comment on column alert_rule_of_drive.threshold is 'In the unit of the kind; null: the record itself has the limit.';
