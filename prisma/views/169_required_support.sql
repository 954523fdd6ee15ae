-- By what support is demanded along the driven length, one row a stretch: the inputs of every comparison, with their edition.
create or replace function required_support(drive_id int)
returns table (
  from_chainage_m numeric, to_chainage_m numeric, length_m numeric, basis text, ground_class_code text, design_section text, edition text, gap text,
  from_m numeric, to_m numeric)
language sql stable begin atomic
  with driven as materialized (
    select array[0, max(b.to_m)] as bounds from boring b where b.drive_id = required_support.drive_id having max(b.to_m) > 0
  ), segment as (
    select s.*, lag(row(s.design_section_id, s.ground_class_id, s.basis)) over (order by s.segment) is distinct from
      row(s.design_section_id, s.ground_class_id, s.basis) as is_new
    from driven cross join lateral support_segment(required_support.drive_id, driven.bounds) s
  ), stretch as (
    select min(from_mm) * 0.001 as from_m, max(to_mm) * 0.001 as to_m, design_section_id, standard_support_id, ground_class_id, basis
    from (select *, count(*) filter (where is_new) over (order by segment) as run from segment) s
    group by run, design_section_id, standard_support_id, ground_class_id, basis
  )
  select d.start_chainage_m + d.direction * s.from_m, d.start_chainage_m + d.direction * s.to_m, s.to_m - s.from_m, s.basis, c.code, n.name,
    coalesce(n.edition, t.edition),
    case when n.id is null and c.id is null then 'no_class' when n.id is null and t.id is null then 'no_standard' end, s.from_m, s.to_m
  from stretch s
  join drive d on d.id = required_support.drive_id
  left join ground_class c on c.id = s.ground_class_id
  left join design_section n on n.id = s.design_section_id
  left join standard_support t on t.id = s.standard_support_id;
end;

comment on function required_support(int) is
  'By what support is demanded along the driven length of a drive [m], one row a stretch. basis: design_section, or by what the class rules; edition: of the section''s list, else of the class''s standard; gap: why nothing is assessed, no_class or no_standard, else null.';
