-- What demands support along the driven length, one row per stretch: the inputs of every comparison, with edition and revision of the
-- lists, the classes compared where none is agreed, and the resulting demand for each item.
create or replace function required_support(drive_id int)
returns table (
  from_chainage_m numeric, to_chainage_m numeric, length_m numeric, basis text, ground_class_code text, design_section text, edition text, gap text,
  from_m numeric, to_m numeric, revision text, valid_from date, rests_on text, considered jsonb, demanded jsonb)
language sql stable begin atomic
  with driven as materialized (
    select array[0, max(b.to_m)] as bounds from boring b where b.drive_id = required_support.drive_id having max(b.to_m) > 0
  ), segment as materialized (
    select s.*, lag(s.demand) over (order by s.segment) is distinct from s.demand as is_new
    from driven cross join lateral support_segment(required_support.drive_id, driven.bounds) s
  ), stretch as (
    select min(from_mm) * 0.001 as from_m, max(to_mm) * 0.001 as to_m, demand
    from (select *, count(*) filter (where is_new) over (order by segment) as run from segment) s
    group by run, demand
  ), demand as materialized (
    select k.demand, k.is_known, n.id as section_id, n.name, n.edition, n.revision, n.valid_from, held.held_count, held.ground_class_code, held.basis,
      held.one_edition,
      held.one_revision, held.one_valid_from, held.considered, support_basis_text(k.design_section_id, k.ground_class_ids, k.bases) as words, list.demanded
    from (select distinct demand, is_known, design_section_id, standard_support_ids, ground_class_ids, bases from segment) k
    left join design_section n on n.id = k.design_section_id
    cross join lateral (
      select count(*) as held_count, case when count(distinct c.code) = 1 then min(c.code) end as ground_class_code,
        case when count(*) = 1 then min(h.basis) when count(*) > 1 then 'heavier_of' end as basis,
        case when count(distinct h.ground_class_id) = 1 then min(s.edition) end as one_edition,
        case when count(distinct h.ground_class_id) = 1 then min(s.revision) end as one_revision,
        case when count(distinct h.ground_class_id) = 1 then min(s.valid_from) end as one_valid_from,
        coalesce(jsonb_agg(jsonb_build_object('groundClass', c.code, 'basis', h.basis, 'edition', s.edition, 'revision', s.revision,
          'validFrom', s.valid_from) order by h.number), '[]') as considered
      from unnest(k.ground_class_ids, k.bases) with ordinality h(ground_class_id, basis, number)
      join ground_class c on c.id = h.ground_class_id
      left join standard_support s on s.ground_class_id = h.ground_class_id and s.id = any (k.standard_support_ids)
    ) held
    cross join lateral (
      select coalesce(jsonb_agg(jsonb_build_object('item', i.code, 'zone', d.zone, 'unit', i.unit, 'quantityPerM', d.quantity_per_m::text,
        'tolerancePercent', case when d.spacing_mm is null then d.tolerance_percent::text end, 'spacingM', (d.spacing_mm * 0.001)::text,
        'toleranceM', (d.tolerance_mm * 0.001)::text, 'piecesPerRow', d.pieces_per_row,
        'aroundSpacingM', (d.around_spacing_mm * 0.001)::text, 'aroundToleranceM', (d.around_tolerance_mm * 0.001)::text, 'fromDeg', d.from_deg::text, 'toDeg',
          d.to_deg::text,
        'groundClass', c.code) order by d.zone, i.code, d.from_deg, d.pieces_per_row), '[]') as demanded
      from support_demand_of(k.design_section_id, k.standard_support_ids) d
      join support_item i on i.id = d.support_item_id
      left join standard_support s on s.id = d.standard_support_id
      left join ground_class c on c.id = s.ground_class_id
    ) list
  )
  select chainage_of_driven(d.start_chainage_m, d.direction, s.from_m), chainage_of_driven(d.start_chainage_m, d.direction, s.to_m), s.to_m - s.from_m,
    case when k.section_id is not null then 'design_section' else k.basis end, k.ground_class_code, k.name,
    case when k.section_id is not null then k.edition else k.one_edition end,
    case when k.is_known then null when k.held_count = 0 then 'no_class' else 'no_standard' end, s.from_m, s.to_m,
    case when k.section_id is not null then k.revision else k.one_revision end, case when k.section_id is not null then k.valid_from else k.one_valid_from end,
    k.words, k.considered, k.demanded
  from stretch s
  join demand k on k.demand = s.demand
  join drive d on d.id = required_support.drive_id;
end;

comment on function required_support(int) is
  'What demands support along the driven length of a drive [m], one row per stretch. basis: design_section; agreed; noted, proposed, disputed or last_agreed '
  'where one class is considered and none is agreed; heavier_of where several are, of which the heavier demand governs item by item. edition, revision, '
  'valid_from: of the section''s list, else of the one class''s standard; gap: why nothing or not all is assessed, no_class or no_standard, else null; '
  'rests_on: the same in words; considered: the classes, each with its basis and standard; demanded: by item and zone, with the class whose demand is the '
  'heaviest.';
