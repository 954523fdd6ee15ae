-- One row a record behind a line of a valuation: what was certified of it, or what would be now.
create or replace view valuation_line_source as
select
  p.code as project_code,
  d.code as drive_code,
  v.number as valuation_number,
  s.reference,
  b.version as bill_version,
  s.source,
  s.source_key,
  nullif(s.class_code, '') as class_code,
  s.sequence,
  case when s.to_date_quantity = 0 and s.held_quantity <> 0 then 'held' when s.quantity = 0 then case when s.held_quantity <> 0 then 'held' when s.incomplete then 'incomplete' else 'contested' end
    when s.source_key = 'limit' then 'limited' when s.sequence = 1 then 'measured' when s.to_date_quantity = 0 then 'removed' else 'corrected' end as effect,
  s.shift_date,
  s.shift_name,
  d.start_chainage_m + d.direction * s.from_m as from_chainage_m,
  d.start_chainage_m + d.direction * s.to_m as to_chainage_m,
  s.previous_quantity,
  s.quantity,
  s.to_date_quantity,
  s.held_quantity,
  v.drive_id,
  v.id as valuation_id,
  s.pay_item_id,
  s.basis,
  s.contested
from valuation v
join drive d on d.id = v.drive_id
join project p on p.id = d.project_id
cross join lateral (
  select c.pay_item_id, c.reference, c.source::text, c.source_key, c.class_code, c.sequence, c.shift_date, c.shift_name, c.from_m, c.to_m, c.previous_quantity,
    c.quantity, c.to_date_quantity, 0.000 as held_quantity, false as incomplete, c.basis, c.contested
  from certified_source c where v.state = 'certified' and c.valuation_id = v.id
  union all
  select f.pay_item_id, f.reference, f.source, f.source_key, f.class_code, f.sequence, f.shift_date, f.shift_name, f.from_m, f.to_m, f.previous_quantity,
    f.quantity, f.to_date_quantity, f.held_quantity, f.incomplete, f.basis, f.contested
  from draft_source_of(v.drive_id, v.cut_off) f where v.state <> 'certified'
) s
join pay_item i on i.id = s.pay_item_id
join bill b on b.id = i.bill_id;

comment on view valuation_line_source is
  'One row a record behind a line of a valuation, with what it was certified for before, now and to date; in base units: nr, m, m2, m3, kg, s.';
comment on column valuation_line_source.effect is
  'measured: new; corrected or removed: certified before and different now; limited: by the limit per metre; held: disputed, or counted here only by a class that is not agreed, and nothing of it counts; incomplete: lacks what the rule asks for; contested: certified before and unchanged, its class is contested.';
comment on column valuation_line_source.basis is 'By what its class rules: agreed, noted, or both; null: no class.';
comment on column valuation_line_source.contested is 'Where the rule asks for classes: class decisions that stand there and are not agreed, as JSON: number, state, groundClass.';
