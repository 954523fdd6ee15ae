-- The ruling class along a drive: at each place that of the class decision with its state as basis, else the class noted by the
-- shift (basis noted). Intervals do not overlap and are ordered along the drive; a place without any class is in none. Decisions
-- and notes may lie ahead of the face. What a note has left lies in the gaps between the decisions: two lists of intervals that
-- do not overlap are laid over one another in one pass, where a shared piece begins with the later of the two beginnings.
create or replace function ruling_class_of(drive_id int)
returns table (from_m numeric, to_m numeric, ground_class_id int, ground_class_code text, basis text)
language sql stable begin atomic
  with decision as materialized (
    select d.from_m, d.to_m, d.ground_class_id, d.state::text as basis from class_decision d
    where d.drive_id = ruling_class_of.drive_id and d.withdrawn_by is null -- as the planner can estimate under row-level security
  ), gap as (
    select d.to_m as from_m, lead(d.from_m, 1, 'infinity') over (order by d.from_m) as to_m from decision d
    union all
    select 0.000, coalesce(min(d.from_m), 'infinity') from decision d
  ), begun as ( -- the last note begun is the highest by its first element
    select place.from_m, max(place.gap_to_m) over past as gap_to_m, max(place.note) over past as note
    from (
      select gap.from_m, gap.to_m as gap_to_m, null::numeric[] as note from gap
      union all
      select g.from_m, null, array[g.from_m, g.to_m, g.ground_class_id] from ground_interval g where g.drive_id = ruling_class_of.drive_id
    ) place
    window past as (order by place.from_m rows unbounded preceding)
  )
  select ruling.from_m, ruling.to_m, ruling.ground_class_id, c.code, ruling.basis
  from (
    select d.from_m, d.to_m, d.ground_class_id, d.basis from decision d
    union all
    select b.from_m, least(b.note[2], b.gap_to_m), b.note[3]::int, 'noted' from begun b
    where b.note[2] > b.from_m and b.gap_to_m > b.from_m
  ) ruling
  join ground_class c on c.id = ruling.ground_class_id
  order by ruling.from_m;
end;

comment on function ruling_class_of(int) is
  'Ground class that counts along a drive, for payment and for the support that is required: of the class decision (basis agreed, disputed or proposed), else as noted by the shift (basis noted). Driven metres [m]; intervals do not overlap; places without a class are left out.';
