-- The changes of a project's record, one row per transaction that wrote to it, in the order in which they were committed: a reader who has read up to a
-- number has missed nothing before it. drives: codes of the drives whose rows it wrote, empty if all belong to the project as a whole;
-- kinds: parts of the record that it wrote to; hash: SHA-256 of the entry and, through the one before it, of all before it.
create or replace view change as
select c.project_id, c.number, c.made_at, c.actor, c.credential, c.reason, c.request, c.tables,
  array(select distinct k.kind from change_kind() k where k.table_name = any (c.tables) order by 1) as kinds,
  c.drives as drive_ids,
  array(select distinct d.code from history.drive d where d.project_id = c.project_id and d.id = any (c.drives) order by 1) as drives,
  encode(c.hash, 'hex') as hash
from history.change c
where c.hash is not null and (history.standing_change() is null or c.number <= history.standing_change());
comment on view change is 'One row per change of a project''s record, by number, in the order of commitment: who, when, why, tables, kinds, drives and hash.';
