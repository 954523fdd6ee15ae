-- Sets of items that divide the same records and have different decimals: their total is rounded to the coarsest.
create or replace function mixed_decimals(project text, drive text, until date)
returns table (bill_version text, reference_list text[], step numeric)
language sql stable begin atomic
  select c.bill_version, c.reference_list, c.step
  from measure_check_of(mixed_decimals.project, mixed_decimals.drive, mixed_decimals.until) c where c.part = 'decimals';
end;

comment on function mixed_decimals(text, text, date) is
  'Items that are rounded together though they have different decimals: all of them to the step of the coarsest. [nr, m, m2, m3, kg]';
