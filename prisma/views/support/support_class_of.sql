-- The classes by which each place of a drive may have to be supported: support_class_within for the whole of it.
create or replace function support_class_of(drive_id int)
returns table (from_m numeric, to_m numeric, ground_class_id int, basis text)
language sql stable begin atomic
  select * from support_class_within(support_class_of.drive_id, 0, 'infinity');
end;

comment on function support_class_of(int) is
  'The classes by which support is demanded along a drive, for safety: the agreed one alone; where none is agreed, each of those that are proposed or '
  'disputed, noted, and agreed last (withdrawn since), of which the heavier demand governs. Driven metres. [m]';
