-- Where along a drive each revision of a class's standard, of a design section and of a limit governs: from the first metre bored on
-- the production day from which it is valid, to the first one bored under the next. What is not bored yet belongs to the last one.
-- kind: standard, by class; section, by name, which governs from from_mm to to_mm within its own ends; limit, by zone, null from the
-- day on which it is lifted. Null valid_from: from the beginning.
create or replace function demand_along(drive_id int)
returns table (kind text, id int, ground_class_id int, zone text, limit_mm int, from_mm int, to_mm int)
language sql stable begin atomic
  with revision as (
    select 'standard' as kind, s.id, s.ground_class_id, null::text as zone, null::numeric as limit_m, s.valid_from, s.ground_class_id::text as series,
      0.000 as from_m, 'infinity'::numeric as to_m
    from drive d join ground_class c on c.project_id = d.project_id join standard_support s on s.ground_class_id = c.id
    where d.id = demand_along.drive_id
    union all
    select 'section', s.id, null, null, null, s.valid_from, s.name, s.from_m, s.to_m from design_section s where s.drive_id = demand_along.drive_id
    union all
    select 'limit', l.id, null, l.zone, l.limit_m, l.valid_from, l.zone::text, 0.000, 'infinity' from drive_support_limit l
      where l.drive_id = demand_along.drive_id
  ), day as materialized ( -- looked up once per day, however many begin on it
    select v.valid_from, bored_before(demand_along.drive_id, v.valid_from) as m from (select distinct valid_from from revision where valid_from is not null) v
  ), placed as (
    select r.*, coalesce(d.m, 0.000) as since_m,
      lead(coalesce(d.m, 0.000), 1, 'infinity') over (partition by r.kind, r.series order by r.valid_from nulls first) as until_m
    from revision r left join day d on d.valid_from = r.valid_from
  )
  select p.kind, p.id, p.ground_class_id, p.zone, (p.limit_m * 1000)::int, (greatest(p.from_m, p.since_m) * 1000)::int,
    (least(p.to_m, p.until_m, 1000000) * 1000)::int
  from placed p
  where greatest(p.from_m, p.since_m) < least(p.to_m, p.until_m);
end;

comment on function demand_along(int) is
  'Where along a drive each revision of a standard, a design section or a limit governs: by the production day on which a place was bored. [driven mm]';
