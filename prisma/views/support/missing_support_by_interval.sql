-- report.missing_support at 10 m, for clients that read views only.
create or replace view missing_support_by_interval as
select p.code as project_code, d.code as drive_code, m.from_chainage_m, m.to_chainage_m, m.item_code, m.kind, m.description, m.unit, m.zone, m.part,
  m.length_m, m.required, m.installed, m.difference, m.missing_raw, m.surplus, m.tolerated, m.missing, m.state, d.id as drive_id, m.from_m, m.to_m,
  m.rests_on, m.missing_local
from drive d
join project p on p.id = d.project_id
cross join lateral missing_support(p.code, d.code, 10) m;

comment on view missing_support_by_interval is
  'Support required against installed by 10 m of chainage, item, zone and part; other lengths by missing_support. Decision support: it shows what the record '
  'holds; the project''s designer, the responsible engineer on site and the local code decide, by inspection.';
comment on column missing_support_by_interval.part is 'due, not_yet_due, not_assessed or ahead_of_face.';
comment on column missing_support_by_interval.length_m is 'Length along which the item is demanded; without item: length that is not assessed. [m]';
comment on column missing_support_by_interval.required is 'Quantity per metre times length, exact, in the unit.';
comment on column missing_support_by_interval.difference is 'Installed less required.';
comment on column missing_support_by_interval.missing_raw is 'What is installed less than required, whatever the tolerance and the limit.';
comment on column missing_support_by_interval.surplus is 'What is installed more than required.';
comment on column missing_support_by_interval.tolerated is 'Shortfall that is not reported.';
comment on column missing_support_by_interval.missing is 'Shortfall that is reported: due, and beyond the tolerance.';
comment on column missing_support_by_interval.rests_on is
  'What demands it, in words: the agreed class, the design section, or the heavier of the classes considered there.';
