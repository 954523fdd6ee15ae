-- The classes by which a place may have to be supported, one row per interval and class. An agreed decision governs its place alone.
-- Elsewhere nothing is agreed, so all classes considered at a place are compared, and the heavier demand governs: the class of a proposed
-- or disputed decision, the class noted by the shift, and the class agreed last whose decision has been withdrawn since (basis
-- last_agreed). A decision withdrawn without having been agreed never counts. Intervals of one basis do not overlap.
-- Of the notes, those are read that touch the stretch from low_m to high_m, so rows that lie outside of it may be incomplete.
create or replace function support_class_within(drive_id int, low_m numeric, high_m numeric)
returns table (from_m numeric, to_m numeric, ground_class_id int, basis text)
language sql stable begin atomic
  with decision as materialized (
    select d.from_m, d.to_m, d.ground_class_id, d.state::text as state, d.agreed_at, d.number from class_decision d
    where d.drive_id = support_class_within.drive_id and (d.withdrawn_by is null or d.agreed_by is not null) -- form that the planner can estimate under RLS
  ), gap as ( -- where nothing is agreed
    select d.to_m as from_m, lead(d.from_m, 1, 'infinity') over (order by d.from_m) as to_m from decision d where d.state = 'agreed'
    union all
    select 0.000, coalesce(min(d.from_m), 'infinity') from decision d where d.state = 'agreed'
  ), begun as ( -- the last note begun is the highest by its first element
    select place.from_m, max(place.gap_to_m) over past as gap_to_m, max(place.note) over past as note
    from (
      select gap.from_m, gap.to_m as gap_to_m, null::numeric[] as note from gap
      union all
      select g.from_m, null, array[g.from_m, g.to_m, g.ground_class_id] from ground_interval g
      where g.drive_id = support_class_within.drive_id and g.from_m < support_class_within.high_m
        and g.from_m >= coalesce((select max(l.from_m) from ground_interval l -- the last begun there; none before it counts
          where l.drive_id = support_class_within.drive_id and l.from_m <= support_class_within.low_m), 0)
    ) place
    window past as (order by place.from_m rows unbounded preceding)
  ), former as ( -- the rest of each, less what was agreed later and what is agreed now
    select d.state, d.ground_class_id, nummultirange(numrange(d.from_m, d.to_m)) - coalesce(
      range_agg(numrange(d.from_m, d.to_m)) over (order by d.state = 'agreed' desc, d.agreed_at desc,
        d.number desc rows between unbounded preceding and 1 preceding),
      '{}') as rest
    from decision d where d.agreed_at is not null
  )
  select d.from_m, d.to_m, d.ground_class_id, d.state from decision d where d.state <> 'withdrawn'
  union all
  select b.from_m, least(b.note[2], b.gap_to_m), b.note[3]::int, 'noted' from begun b where b.note[2] > b.from_m and b.gap_to_m > b.from_m
  union all
  select lower(r), upper(r), f.ground_class_id, 'last_agreed' from former f cross join lateral unnest(f.rest) r where f.state = 'withdrawn';
end;

comment on function support_class_within(int, numeric, numeric) is
  'The classes by which support is demanded between two places of a drive: see support_class_of. Driven metres. [m]';
