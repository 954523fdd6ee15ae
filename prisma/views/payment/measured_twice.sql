-- Pairs of items whose rules measure the same records. Often intended, as where supply and installation are separate items. Held quantities, which
-- another item pays in the meantime, are not included.
create or replace function measured_twice(project text, drive text, until date)
returns table (bill_version text, reference text, other_reference text, record_count int, first_key text)
language sql stable begin atomic
  select c.bill_version, c.reference, c.other_reference, c.record_count, c.first_key
  from measure_check_of(measured_twice.project, measured_twice.drive, measured_twice.until) c where c.part = 'twice';
end;

comment on function measured_twice(text, text, date) is
  'Pairs of items whose rules measure the same records until a day, with their number and the first of them.';
