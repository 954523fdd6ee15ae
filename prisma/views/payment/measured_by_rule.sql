-- What each rule of a drive covers until a day; also for a rule that covers nothing.
create or replace function measured_by_rule(project text, drive text, until date)
returns table (bill_version text, reference text, unit text, record_count int, quantity numeric, held_quantity numeric, incomplete_count int)
language sql stable begin atomic
  select c.bill_version, c.reference, c.unit, c.record_count, c.quantity, c.held_quantity, c.incomplete_count
  from measure_check_of(measured_by_rule.project, measured_by_rule.drive, measured_by_rule.until) c where c.part = 'rule';
end;

comment on function measured_by_rule(text, text, date) is
  'What each rule of a drive catches until a day: records, quantity and what of it is held, in the item''s unit to six decimals, and records that lack what the '
  'rule asks for.';
