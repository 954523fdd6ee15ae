-- The records behind each certified line: one row per record and line.
create or replace view valuation_line_source as
select p.code as project_code, d.code as drive_code, v.number as valuation_number, s.reference, s.bill_version, s.source, s.source_key, s.class_code,
  s.sequence,
  s.effect, s.shift_date, s.shift_name, s.from_chainage_m, s.to_chainage_m, s.previous_quantity, s.quantity, s.to_date_quantity, s.held_quantity, v.drive_id,
  v.id as valuation_id, s.pay_item_id, s.basis, s.contested
from valuation v
join drive d on d.id = v.drive_id
join project p on p.id = d.project_id
cross join lateral valuation_source_of(v.drive_id, v.number, '') s;

comment on view valuation_line_source is
  'One row per record behind a line of a valuation, with what it was certified for before, now and to date; in base units: nr, m, m2, m3, kg, s.';
comment on column valuation_line_source.effect is
  'measured: new; corrected or removed: certified before and different now; limited: by the limit per metre; held: disputed, or counted here only by a class '
  'that is not agreed, and nothing of it counts; incomplete: lacks an input of the rule; contested: certified before and unchanged, its class is contested.';
comment on column valuation_line_source.basis is 'Basis of its class: agreed, noted, or both; null: no class.';
comment on column valuation_line_source.contested is
  'Where the rule depends on classes: class decisions there that are not agreed, as JSON: number, state, groundClass.';
