-- What the support of a drive comes to by noted ground class, item and zone. Quantities given over an interval are apportioned
-- along it, pieces by where each stands; what lies where no class is noted stands under a null class, so that the classes sum to report.support_total.
-- The cells of a line are found in their sorted starts by halving (width_bucket). The starts are asked for in sub-selects:
-- joined, the whole list would go with each row.
create or replace function support_in_ground_classes(drive_id int)
returns table (ground_class_code text, item_code text, kind text, description text, unit text, zone text, quantity numeric, row_count int)
language sql stable begin atomic
  with cell as materialized (
    select array_agg(c.from_mm order by c.n) as from_mm, array_agg(c.ground_class_id order by c.n) as class_id
    from noted_cell_of(support_in_ground_classes.drive_id) c
  ), line as materialized (
    select r.id, r.support_item_id, r.unit, r.zone, r.quantity, case when r.unit = 'nr' then r.quantity end as pieces, r.from_m, r.to_m, r.positions_m,
      width_bucket((r.from_m * 1000)::int, (select from_mm from cell)) as first,
      width_bucket(greatest((r.to_m * 1000)::int - 1, (r.from_m * 1000)::int), (select from_mm from cell)) as last
    from support_installed r where r.drive_id = support_in_ground_classes.drive_id
  ), part as (
    select l.id, l.support_item_id, l.unit, l.zone, (select class_id from cell)[l.first] as class_id, l.quantity from line l where l.first = l.last
    union all
    (select c.id, c.support_item_id, c.unit, c.zone, c.class_id, apportion(c.quantity, c.pieces, c.from_m, c.to_m, c.positions_m, c.cut_from_m, c.cut_to_m)
    from ( -- the cuts as columns, so that the share is worked out in place and not by a call
      select l.*, (select class_id from cell)[n] as class_id, (select from_mm from cell)[n] * 0.001 as cut_from_m,
        coalesce((select from_mm from cell)[n + 1] * 0.001, l.to_m) as cut_to_m
      from line l cross join lateral generate_series(l.first, l.last) n where l.first < l.last
      offset 0
    ) c
    offset 0 -- a share is worked out once, not for its condition too
    )
  ), total as (
    select class_id, support_item_id, part.unit, part.zone, sum(part.quantity) as quantity, count(distinct id)::int as row_count
    from part where part.quantity <> 0 group by class_id, support_item_id, part.unit, part.zone
  )
  select c.code, i.code, i.kind::text, i.description, t.unit::text, t.zone::text, t.quantity, t.row_count
  from total t
  join support_item i on i.id = t.support_item_id
  left join ground_class c on c.id = t.class_id;
end;

comment on function support_in_ground_classes(int) is
  'Support installed on a drive by the ground class noted where it stands (null: none noted), item and zone, in the item''s unit; it sums to support_total.';

-- One row a drive, ground class, item and zone.
create or replace view support_by_ground_class as
select
  p.code as project_code, d.code as drive_code, s.ground_class_code, s.item_code, s.kind, s.description, s.unit, s.zone,
  s.quantity, s.row_count, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral support_in_ground_classes(d.id) s;

comment on view support_by_ground_class is
  'Support installed by the ground class noted where it stands, item and zone; null class: none noted. Sums to support_total.';
