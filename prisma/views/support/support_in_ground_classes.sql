-- The support of a drive by noted ground class, item and zone. Quantities given over an interval are apportioned along it, pieces by their
-- positions; where no class is noted, the class is null, so that the classes sum to report.support_total. The cells of a line are found by
-- binary search in their sorted starts (width_bucket). The starts are read in sub-selects: joined, the whole list would be copied to each
-- row. Most lines lie in one cell and are not divided; the others are first summed per line, because a line counts once in a class that it
-- enters twice.
create or replace function support_in_ground_classes(drive_id int)
returns table (ground_class_code text, item_code text, kind text, description text, unit text, zone text, quantity numeric, row_count int)
language sql stable begin atomic
  with cell as materialized (
    select array_agg(c.from_mm order by c.n) as from_mm, array_agg(c.ground_class_id order by c.n) as class_id
    from noted_cell_of(support_in_ground_classes.drive_id) c
  ), line as (
    select r.*, width_bucket(r.from_mm, (select from_mm from cell)) as first, width_bucket(greatest(r.to_mm - 1, r.from_mm), (select from_mm from cell)) as last
    from (
      select s.id, s.support_item_id, s.zone, s.quantity, case when s.unit = 'nr' then s.quantity end as pieces, s.from_m, s.to_m, s.positions_m,
        (s.from_m * 1000)::int as from_mm, (s.to_m * 1000)::int as to_mm
      from support_installed s where s.drive_id = support_in_ground_classes.drive_id
      offset 0
    ) r
    offset 0
  ), piece as (
    select l.*, l.first = l.last as is_whole, generate_series(l.first, l.last) as n from line l
  ), cut as ( -- the cuts as columns, so that the share is computed inline and not by a function call
    select p.*, (select class_id from cell)[p.n] as class_id, case when not p.is_whole then (select from_mm from cell)[p.n] * 0.001 end as cut_from_m,
      case when not p.is_whole then coalesce((select from_mm from cell)[p.n + 1] * 0.001, p.to_m) end as cut_to_m
    from piece p
    offset 0
  ), part as (
    select c.class_id, c.support_item_id, c.zone, case when not c.is_whole then c.id end as id, case when c.is_whole then c.quantity
      else apportion(c.quantity, c.pieces, c.from_m, c.to_m, c.positions_m, c.cut_from_m, c.cut_to_m) end as quantity
    from cut c
    offset 0 -- computes each share once, not again for its condition
  ), held as (
    select p.class_id, p.support_item_id, p.zone, sum(p.quantity) as quantity, case when p.id is null then count(*) else 1 end as row_count
    from part p where p.quantity <> 0
    group by p.class_id, p.support_item_id, p.zone, p.id
  ), total as (
    select h.class_id, h.support_item_id, h.zone, sum(h.quantity) as quantity, sum(h.row_count)::int as row_count
    from held h group by h.class_id, h.support_item_id, h.zone
  )
  select c.code, i.code, i.kind::text, i.description, i.unit::text, t.zone::text, t.quantity, t.row_count
  from total t
  join support_item i on i.id = t.support_item_id
  left join ground_class c on c.id = t.class_id;
end;

comment on function support_in_ground_classes(int) is
  'Support installed on a drive by the ground class noted where it is (null: none noted), item and zone, in the item''s unit; it sums to support_total.';
