-- One row per stop: a maximal run of adjoining time of one code that counts neither as boring nor as regripping, also across a shift change and
-- the start of a day. The place is looked up per stop, as in ledger_entry, and not at all if it is not requested: a query for the few longest
-- stops looks up few places.
create or replace view ledger_stop as
select
  p.code as project_code, d.code as drive_code, r.code, r.description, r.counts_as, r.lost, r.started_at, r.ended_at, r.production_day,
  r.seconds, r.seconds / 3600 as hours, r.activity_count,
  (select chainage_of_driven(d.start_chainage_m, d.direction, f.face_m) from face_reached_at(d.id, r.started_at) f) as chainage_m,
  (select c.code from face_reached_at(d.id, r.started_at) f cross join lateral noted_at(d.id, f.face_m) n join ground_class c on c.id = n.ground_class_id)
    as ground_class_code,
  d.id as drive_id, r.non_boring
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select code, description, counts_as, non_boring, non_boring and not planned as lost, min(started_at) as started_at, max(ended_at) as ended_at,
    min(production_day) as production_day, sum(seconds) as seconds, count(distinct activity_id)::int as activity_count
  from (
    select *, count(*) filter (where begins) over (partition by code order by started_at) as run
    from (
      select e.*, lag(e.ended_at) over (partition by e.code order by e.started_at) is distinct from e.started_at as begins
      from booked_part e where e.drive_id = d.id and e.counts_as not in ('boring', 'regripping')
    ) reported
  ) counted
  group by code, description, counts_as, non_boring, planned, run
) r;

comment on view ledger_stop is 'Stops of a drive: adjoining time of one code, excluding boring and regripping, whole even across shifts. [h]';
comment on column ledger_stop.production_day is 'Production day on which it began.';
comment on column ledger_stop.non_boring is 'False for time outside working time.';
comment on column ledger_stop.lost is 'True: the programme does not plan the time of the code.';
comment on column ledger_stop.chainage_m is 'Chainage of the face when it began. [m]';
comment on column ledger_stop.ground_class_code is 'Ground class there; null: none noted.';
