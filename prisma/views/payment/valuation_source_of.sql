-- One row per record behind a line of a valuation: what was certified of it, or what would be now. An empty only_reference: for all lines.
-- Planned at each reading for the requested line: a generic plan may take half as long again.
create or replace function valuation_source_of(drive_id int, valuation int, only_reference text)
returns table (project_code text, drive_code text, valuation_number int, reference text, bill_version text, source text, source_key text, class_code text,
  sequence int,
  effect text, shift_date date, shift_name text, from_chainage_m numeric, to_chainage_m numeric, previous_quantity numeric, quantity numeric,
  to_date_quantity numeric, held_quantity numeric, valuation_id int, pay_item_id int, basis text, contested jsonb)
language sql stable strict cost 100000 rows 100000 set work_mem = '32MB' set plan_cache_mode = force_custom_plan begin atomic
  select s.project_code, s.drive_code, s.number, s.reference, b.bill_version, s.source, s.source_key, nullif(s.class_code, ''), s.sequence,
    case when s.to_date_quantity = 0 and s.held_quantity <> 0 then 'held'
      when s.quantity = 0 then case when s.held_quantity <> 0 then 'held' when s.incomplete then 'incomplete' else 'contested' end
      when s.source_key = 'limit' then 'limited' when s.sequence = 1 then 'measured' when s.to_date_quantity = 0 then 'removed' else 'corrected' end,
    s.shift_date, s.shift_name, chainage_of_driven(s.start_chainage_m, s.direction, s.from_m), chainage_of_driven(s.start_chainage_m, s.direction, s.to_m),
      s.previous_quantity, s.quantity,
    s.to_date_quantity, s.held_quantity, s.valuation_id, s.pay_item_id, s.basis, s.contested
  from (
    select p.code as project_code, d.code as drive_code, v.number, v.id as valuation_id, d.start_chainage_m, d.direction, o.*
    from valuation v
    join drive d on d.id = v.drive_id
    join project p on p.id = d.project_id
    cross join lateral (
      select c.pay_item_id, c.reference, c.source::text, c.source_key, c.class_code, c.sequence, c.shift_date, c.shift_name, c.from_m, c.to_m,
        c.previous_quantity,
        c.quantity, c.to_date_quantity, 0.000 as held_quantity, false as incomplete, c.basis, c.contested
      from certified_source c
      where v.state::text = 'certified' and c.valuation_id = v.id and valuation_source_of.only_reference in ('', c.reference)
      union all
      select f.pay_item_id, f.reference, f.source, f.source_key, f.class_code, f.sequence, f.shift_date, f.shift_name, f.from_m, f.to_m, f.previous_quantity,
        f.quantity, f.to_date_quantity, f.held_quantity, f.incomplete, f.basis, f.contested
      from draft_source_of(v.drive_id, v.cut_off, valuation_source_of.only_reference) f where v.state::text <> 'certified'
    ) o
    where v.drive_id = valuation_source_of.drive_id and v.number = valuation_source_of.valuation
    offset 0 -- once, not per item
  ) s
  join version_of_item(valuation_source_of.drive_id) b on b.pay_item_id = s.pay_item_id;
end;

comment on function valuation_source_of(int, int, text) is 'valuation_line_source of one valuation, and of one reference where it is not empty.';
