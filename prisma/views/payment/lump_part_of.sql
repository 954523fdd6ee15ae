-- The progress of lump sums until a day: what each entry adds to the one before, in the item's unit; columns as in measured_part_of.
create or replace function lump_part_of(drive_id int, until date, only_reference text)
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, in_dispute boolean, shift_date date, shift_name text,
  from_m numeric, to_m numeric, quantity numeric, basis text, contested jsonb, total numeric, pieces numeric, line_from_m numeric, line_to_m numeric,
  positions_m numeric[], is_alone boolean, match int, is_single boolean)
language sql stable strict rows 100 begin atomic
  with version as materialized (
    select array_agg(b.valid_from order by b.valid_from) as days from bill b where b.drive_id = lump_part_of.drive_id
  )
  select i.id, l.reference, 'lump', 'lump/' || l.reference || '/' || l.day, '', false, l.day, null::text, null::numeric, null::numeric,
    round(i.quantity * l.added / 100, 9), null::text, null::jsonb, i.quantity * l.added / 100, null::numeric, null::numeric, null::numeric, null::numeric[],
      true, null::int, true
  from (
    select p.reference, p.day, width_bucket(p.day, (select days from version)) as version,
      p.percent - lag(p.percent, 1, 0) over (partition by p.reference order by p.day) as added
    from lump_progress p where p.drive_id = lump_part_of.drive_id and p.day <= lump_part_of.until
  ) l
  join bill b on b.drive_id = lump_part_of.drive_id and b.valid_from = (select days from version)[l.version]
  join pay_item i on i.bill_id = b.id and i.reference = l.reference
  join measurement_rule r on r.pay_item_id = i.id and r.source::text = 'lump'
  where lump_part_of.only_reference in ('', l.reference);
end;

comment on function lump_part_of(int, date, text) is
  'What the lump sums of a drive come to until a day, by item and entry of their progress. [unit of the item]';
