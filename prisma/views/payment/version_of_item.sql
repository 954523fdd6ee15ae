-- The version of the bill to which each pay item of a drive belongs; a function, so that it is hash-joined to the many rows.
create or replace function version_of_item(drive_id int)
returns table (pay_item_id int, bill_version text)
language sql stable strict rows 100 begin atomic
  select i.id, b.version from bill b join pay_item i on i.bill_id = b.id where b.drive_id = version_of_item.drive_id;
end;

comment on function version_of_item(int) is 'The version of the bill that each pay item of a drive is of.';
