-- A drive divided wherever a ground note or a class decision begins or ends: cells that cover it from start to end, numbered along it, with what
-- governs each of them, as in governing_class_of.
create or replace function ground_cell_of(drive_id int)
returns table (n int, from_m numeric, to_m numeric, lithology text, noted_class_code text, governing_class_code text, basis text,
  is_countersigned boolean, contested_number int, contested_state text, contested_class_code text, is_paid boolean)
language sql stable strict rows 1000 begin atomic
  with place as materialized (
    select drive_length(d.start_chainage_m, d.end_chainage_m) as length_m from drive d where d.id = ground_cell_of.drive_id
  ), tile as materialized (
    select t.*, t.decision_state is not distinct from 'agreed' as is_agreed from ground_tile_of(ground_cell_of.drive_id) t
  ), cell as (
    select t.* from tile t
    union all -- before the first and after the last of them
    select 0.000, coalesce((select min(t.from_m) from tile t), 'infinity'), false, null, null, null, null, null, null, null, null, false
    where not exists (select from tile t where t.from_m = 0)
    union all
    select max(t.to_m), 'infinity', false, null, null, null, null, null, null, null, null, false from tile t having max(t.to_m) is not null
  )
  select row_number() over (order by c.from_m)::int, c.from_m, least(c.to_m, place.length_m), c.lithology, noted.code,
    case when c.is_agreed then decided.code else noted.code end, case when c.is_agreed then 'agreed' when c.is_noted then 'noted' end,
    case when not c.is_agreed then c.is_countersigned end, case when not c.is_agreed then c.decision_number end,
    case when not c.is_agreed then c.decision_state end, case when not c.is_agreed then decided.code end,
    case when not c.is_agreed then c.is_paid end
  from place
  join cell c on c.from_m < place.length_m
  left join ground_class noted on noted.id = c.noted_class_id
  left join ground_class decided on decided.id = c.decided_class_id
  order by c.from_m;
end;

comment on function ground_cell_of(int) is
  'Cells that cover a drive, divided where a ground note or a class decision begins or ends: lithology and class noted by the shifts, governing class, its '
  'basis and what contests it (see governing_class_of); null where there is none. Driven metres. [m]';
