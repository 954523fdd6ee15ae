-- The class that rules along a drive, for payment and time: at each place that of the agreed class decision, else the class noted by the
-- shift. A decision that is proposed or disputed rules nothing: it stands beside, as contested, where it lies; where nothing else is noted
-- there, its row has no class. A note rules as countersigned or not, and says so: what is paid waits for the countersignature. Intervals
-- do not overlap and are ordered along the drive; a place with neither class nor decision is in none. Decisions and notes may lie ahead of
-- the face. Cut points are laid in one order with what begins at them; of what has begun, the last one holds the place if it reaches so far.
create or replace function ruling_class_of(drive_id int)
returns table (from_m numeric, to_m numeric, ground_class_id int, ground_class_code text, basis text, is_countersigned boolean,
  contested_number int, contested_state text, contested_class_code text)
language sql stable begin atomic
  with decision as materialized (
    select d.number, d.from_m, d.to_m, d.ground_class_id, d.state::text as state from class_decision d
    where d.drive_id = ruling_class_of.drive_id and d.withdrawn_by is null -- as the planner can estimate under row-level security
  ), note as materialized (
    select g.id, g.from_m, g.to_m, g.ground_class_id, coalesce(s.state::text = 'countersigned', false) as is_countersigned
    from ground_interval g left join shift s on s.id = g.shift_id
    where g.drive_id = ruling_class_of.drive_id
  ), cut as (
    select c.m, max(c.note) as note, max(c.decision) as decision
    from (
      select from_m as m, array[from_m, to_m, id] as note, null::numeric[] as decision from note
      union all select to_m, null, null from note
      union all select from_m, null, array[from_m, to_m, number] from decision
      union all select to_m, null, null from decision
    ) c
    group by c.m
  ), tile as (
    select cut.m as from_m, lead(cut.m) over along as to_m, max(cut.note) over along as note, max(cut.decision) over along as decision
    from cut
    window along as (order by cut.m)
  ), ruling as (
    select d.from_m, d.to_m, d.ground_class_id, d.state as basis, null::boolean as is_countersigned, null::int as contested_number,
      null::text as contested_state, null::int as contested_class_id
    from decision d where d.state = 'agreed'
    union all
    select t.from_m, t.to_m, n.ground_class_id, case when n.id is not null then 'noted' end, n.is_countersigned, d.number, d.state, d.ground_class_id
    from tile t
    left join note n on n.id = t.note[3]::int and n.to_m > t.from_m
    left join decision d on d.number = t.decision[3]::int and d.to_m > t.from_m
    where t.to_m is not null and (n.id is not null or d.number is not null) and d.state is distinct from 'agreed'
  )
  select r.from_m, r.to_m, r.ground_class_id, c.code, r.basis, r.is_countersigned, r.contested_number, r.contested_state, o.code
  from ruling r
  left join ground_class c on c.id = r.ground_class_id
  left join ground_class o on o.id = r.contested_class_id
  order by r.from_m;
end;

comment on function ruling_class_of(int) is
  'Ground class that counts along a drive, for payment and time: of the agreed class decision (basis agreed), else as noted by the shift (basis noted; is_countersigned tells whether its shift is). contested_number, contested_state, contested_class_code: a proposed or disputed decision that stands there and rules nothing; without a note its row has no class. Driven metres [m]; intervals do not overlap; places with neither class nor decision are left out.';
