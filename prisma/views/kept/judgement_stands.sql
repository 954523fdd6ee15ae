-- Whether what is kept of a drive is what would be judged now: no change has come after the one it was judged after that wrote to a table
-- it reads, rows of the drive or of the project as a whole. This is the one rule by which it ends, and it is asked of the history at each reading. A
-- change that is being made in the same transaction counts. The changes of a project commit in the order of their numbers, so whoever sees what is kept
-- sees all changes until then.
create or replace function judgement_stands(drive_id int) returns boolean language sql stable begin atomic
  select exists (
    select from kept.judgement k
    join history.change c on c.project_id = k.project_id and c.number = k.change and c.hash = k.hash
    where k.drive_id = judgement_stands.drive_id
      and not exists (
        select from history.change l
        where l.project_id = k.project_id and l.number > k.change
          and (l.tables && array(select t.name from judged_table() t where not t.of_drive)
            or k.drive_id = any (l.drives) and l.tables && array(select t.name from judged_table() t where t.of_drive))));
end;

comment on function judgement_stands(int) is 'Whether the judgement of support that is kept of a drive is what would be judged now, by the history.';
