-- What demands support at a place, as text: the design section, or each class considered there with its basis.
create or replace function support_basis_text(design_section_id int, ground_class_ids int[], bases text[])
returns text language sql stable begin atomic
  select coalesce(
    (select 'design section ' || s.name from design_section s where s.id = support_basis_text.design_section_id),
    (select case when count(*) > 1 then 'the heavier of ' else '' end || string_agg(c.code || ' ' || replace(h.basis, '_', ' '), ', ' order by h.number)
      from unnest(support_basis_text.ground_class_ids, support_basis_text.bases) with ordinality h(ground_class_id, basis, number)
      join ground_class c on c.id = h.ground_class_id));
end;

comment on function support_basis_text(int, int[], text[]) is 'What demands support at a place, in words; null: no class is known there.';
