-- reliability_by over the whole record: one row per drive, and one per drive and piece of equipment.
create or replace view reliability as
select p.code as project_code, d.code as drive_code, r.operating_hours, r.repair_hours, r.failure_count, r.mtbf_hours, r.mttr_hours,
  r.availability, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral reliability_by(d.id, null, null) r
where r.whole;

comment on view reliability is 'Mechanical availability of a drive, its failures, mean time between them and to repair them. [h]';
comment on column reliability.operating_hours is 'Boring and regripping. [h]';
comment on column reliability.repair_hours is 'Time that counts as breakdown. [h]';
comment on column reliability.mtbf_hours is 'operating_hours / failure_count; null without a failure. [h]';
comment on column reliability.mttr_hours is 'repair_hours / failure_count; null without a failure. [h]';
comment on column reliability.availability is 'operating_hours / (operating_hours + repair_hours); null when both are 0.';
