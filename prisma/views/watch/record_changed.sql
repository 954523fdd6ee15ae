-- One row per record of these tables: the last change that wrote to it. To update a copy, read again the records whose number has risen. A condition on
-- table_name leaves one table to read, and one on record_id a row found by key, also without statistics: with both columns of the key known, no index of
-- the project looks as good, and of the changes from a number on the first is the next of the key. Logins that read see of the history of these tables
-- what is read here (SEEN_OF_HISTORY in src/common/database/rights.ts).
create or replace view record_changed as
with version as not materialized (
  select 'project' as table_name, id as record_id, null::int as drive_id, project_id, from_change, to_change from history.project
  union all select 'party', id, null, project_id, from_change, to_change from history.party
  union all select 'activity_code', id, null, project_id, from_change, to_change from history.activity_code
  union all select 'equipment', id, null, project_id, from_change, to_change from history.equipment
  union all select 'ground_class', id, null, project_id, from_change, to_change from history.ground_class
  union all select 'support_item', id, null, project_id, from_change, to_change from history.support_item
  union all select 'machine', id, null, project_id, from_change, to_change from history.machine
  union all select 'machine_revision', id, null, project_id, from_change, to_change from history.machine_revision
  union all select 'working_zone', id, null, project_id, from_change, to_change from history.working_zone
  union all select 'drive', id, id, project_id, from_change, to_change from history.drive
  union all select 'shift', id, drive_id, project_id, from_change, to_change from history.shift
  union all select 'probe_hole', id, drive_id, project_id, from_change, to_change from history.probe_hole
  union all select 'inflow_measurement', id, drive_id, project_id, from_change, to_change from history.inflow_measurement
  union all select 'bill', id, drive_id, project_id, from_change, to_change from history.bill
  union all select 'pay_item', id, drive_id, project_id, from_change, to_change from history.pay_item
  union all select 'valuation', id, drive_id, project_id, from_change, to_change from history.valuation
)
select v.table_name, v.record_id, v.project_id, v.drive_id, v.from_change as change_number, c.made_at as changed_at
from version v
cross join lateral (select made_at from history.change where project_id = v.project_id and number >= v.from_change order by number limit 1) c
where v.to_change = (select case when history.standing_change() is null then 9223372036854775807 end)
union all -- as of a moment
select v.table_name, v.record_id, v.project_id, v.drive_id, v.from_change, c.made_at
from version v
cross join lateral (select made_at from history.change where project_id = v.project_id and number >= v.from_change order by number limit 1) c
where (select history.standing_change()) is not null
  and v.from_change <= (select history.standing_change()) and v.to_change > (select history.standing_change());

comment on view record_changed is 'One row per record of these tables: number and moment of the last change that wrote to it.';
comment on column record_changed.table_name is 'Table of the record, such as probe_hole.';
comment on column record_changed.record_id is 'Internal number of the record: its key in facts and dimensions.';
comment on column record_changed.drive_id is 'Drive of the record; null: it is of the project as a whole.';
comment on column record_changed.change_number is 'Number of that change in the history of the project.';
