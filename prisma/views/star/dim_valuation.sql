-- Dimension: valuations.
create or replace view dim_valuation as
select v.id as valuation_id, d.project_id, v.drive_id, p.code as project_code, d.code as drive_code, v.number as valuation_number, v.cut_off,
  v.state::text as state,
  v.agreed_at, v.certified_at,
  h.change_number, h.changed_at
from valuation v
join drive d on d.id = v.drive_id
join project p on p.id = d.project_id
left join lateral (select * from record_changed where table_name = 'valuation' and record_id = v.id offset 0) h on true;

comment on view dim_valuation is 'Dimension: one row per valuation.';
comment on column dim_valuation.state is 'draft, agreed or certified.';
