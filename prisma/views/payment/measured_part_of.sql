-- What the rules measure, of the whole drive or of one record: one row per pay item, record and stretch of one kind of ground.
create or replace function measured_part_of(drive_id int, until date, only_reference text, also_uncaught boolean)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, in_dispute boolean, shift_date date, shift_name text,
  from_m numeric, to_m numeric, quantity numeric, basis text, contested jsonb, total numeric, pieces numeric, line_from_m numeric, line_to_m numeric,
  positions_m numeric[], is_alone boolean, match int, is_single boolean)
language sql stable rows 100000 begin atomic
  select * from measured_part_in(measured_part_of.drive_id, measured_part_of.until, measured_part_of.only_reference, measured_part_of.also_uncaught, '{}');
end;

comment on function measured_part_of(int, date, text, boolean) is
  'What the rules of a drive''s bills measure until a day, by item, record and stretch of one kind of ground, in base units (nr, m, m2, m3, kg, s); null: the '
  'record lacks what the rule asks for. also_uncaught: with what no rule catches.';
