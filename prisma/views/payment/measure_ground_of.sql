-- The ground of a drive as payment sees it, in one row: where it changes, and to what kind. A kind combines what matters for measuring: the class
-- that pays and its basis, the lithology, and what contests the class. There are few kinds and few changes, however many notes: equal neighbours are
-- merged. Kind 1 is empty, also for records without a place. class_codes: the class that pays, which is agreed, or else noted by a shift that is
-- countersigned, or deemed accepted if that pays. contested_class_codes: the class that would pay if the open decision were agreed, or the note
-- countersigned.
create or replace function measure_ground_of(drive_id int)
returns table (starts_mm int[], kinds int[], class_codes text[], bases text[], lithologies text[], contested_class_codes text[], contested jsonb[])
language sql stable strict rows 1 begin atomic
  with cell as (
    select c.n, (c.from_m * 1000)::int as from_mm, c.lithology, case when pays then c.governing_class_code end as class_code, case
      when pays then c.basis end as basis,
      coalesce(c.contested_class_code, case when not pays then c.governing_class_code end) as contested_class_code,
      case when c.contested_number is not null
          then jsonb_build_object('number', c.contested_number, 'state', c.contested_state, 'groundClass', c.contested_class_code)
        when not pays then jsonb_build_object('state', 'noted', 'groundClass', c.governing_class_code) end as contested
    from ground_cell_of(measure_ground_of.drive_id) c
    cross join lateral (select c.is_paid is not false as pays) note
  ), sorted as materialized (
    select c.*, 1 + dense_rank() over (order by c.class_code, c.basis, c.lithology, c.contested_class_code, c.contested)::int as kind from cell c
  ), run as (
    select s.from_mm, s.kind, lag(s.kind) over (order by s.n) as kind_before from sorted s
  ), kind as (
    select distinct on (s.kind) s.kind, s.class_code, s.basis, s.lithology, s.contested_class_code, s.contested from sorted s order by s.kind
  ), change as (
    select array_agg(r.from_mm order by r.from_mm) as starts_mm, array_agg(r.kind order by r.from_mm) as kinds from run r where r.kind is distinct
      from r.kind_before
  )
  select change.starts_mm, change.kinds, null::text || array_agg(k.class_code order by k.kind), null::text || array_agg(k.basis order by k.kind),
    null::text || array_agg(k.lithology order by k.kind), null::text || array_agg(k.contested_class_code order by k.kind),
    null::jsonb || array_agg(k.contested order by k.kind)
  from change cross join kind k
  group by change.starts_mm, change.kinds;
end;

comment on function measure_ground_of(int) is
  'The ground of a drive as payment sees it: where it changes [driven mm] and to which kind; by kind the class that pays (agreed, or noted by a countersigned '
  'shift), its basis, the lithology, and the class that would pay if what contests it were agreed or countersigned.';
