-- Whether the cached assessment of a drive is still valid: no later change has written to a table that it reads, whether to rows of the drive or
-- of the project as a whole. This is the only rule by which it expires, checked against the history at each reading. A change in progress in the
-- same transaction counts. The changes of a project commit in numerical order, so a transaction that sees the cached assessment sees all changes
-- until then.
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

comment on function judgement_stands(int) is 'Whether the cached assessment of a drive''s support is still valid, by the history.';
