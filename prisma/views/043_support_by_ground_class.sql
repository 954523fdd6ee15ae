-- One row a drive, ground class, item and zone. Quantities given over an interval are apportioned along it; what lies
-- where no class is noted stands under a null class, so that the classes sum to report.support_total. Notes do not
-- overlap, so the search starts at the last one that begins behind the row.
create or replace view support_by_ground_class as
select
  r.project_code, r.drive_code, part.ground_class_code, r.item_code, r.kind, r.description, r.unit, r.zone,
  sum(part.quantity) as quantity, count(distinct r.support_installed_id)::int as row_count, r.drive_id
from support_row r
cross join lateral (
  select coalesce(max(from_m), 0) as first_m from ground_interval where drive_id = r.drive_id and from_m <= r.from_m
) note
cross join lateral (
  select c.code as ground_class_code, apportion(r.quantity, r.from_m, r.to_m, g.from_m, g.to_m) as quantity
  from ground_interval g join ground_class c on c.id = g.ground_class_id
  where g.drive_id = r.drive_id and g.from_m >= note.first_m and g.from_m < greatest(r.to_m, r.from_m + 0.001) and g.to_m > r.from_m
  union all
  select null, r.quantity - coalesce(sum(apportion(r.quantity, r.from_m, r.to_m, g.from_m, g.to_m)), 0)
  from ground_interval g
  where g.drive_id = r.drive_id and g.from_m >= note.first_m and g.from_m < greatest(r.to_m, r.from_m + 0.001) and g.to_m > r.from_m
) part
where part.quantity <> 0
group by r.project_code, r.drive_code, part.ground_class_code, r.item_code, r.kind, r.description, r.unit, r.zone, r.drive_id;

comment on view support_by_ground_class is
  'Support installed by the ground class noted where it stands, item and zone; null class: none noted. Sums to support_total.';
