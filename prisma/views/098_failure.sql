-- One row a failure: a longest run of adjoining breakdown time of the same equipment, or of the same code where none is
-- named, also across a shift change and the start of a day.
create or replace view failure as
select
  p.code as project_code, d.code as drive_code, f.equipment_code, f.code, f.started_at, f.ended_at, f.production_day,
  f.seconds, f.seconds / 3600 as hours, f.activity_count, d.start_chainage_m + d.direction * f.face_m as chainage_m, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select equipment_code, unnamed_code, run, (array_agg(code order by started_at))[1] as code, min(started_at) as started_at, max(ended_at) as ended_at,
    min(production_day) as production_day, sum(seconds) as seconds, count(distinct activity_id)::int as activity_count,
    (array_agg(face_m order by started_at))[1] as face_m
  from (
    select *, count(*) filter (where begins) over (partition by equipment_code, unnamed_code order by started_at) as run
    from (
      select e.*, case when e.equipment_code is null then e.code end as unnamed_code,
        lag(e.ended_at) over (partition by e.equipment_code, case when e.equipment_code is null then e.code end order by e.started_at)
          is distinct from e.started_at as begins
      from ledger_entry e where e.drive_id = d.id and e.counts_as = 'breakdown'
    ) told
  ) counted
  group by equipment_code, unnamed_code, run
) f;

comment on view failure is
  'Failures of a drive: adjoining breakdown time of one piece of equipment, or of one code where none is named. [h]';
comment on column failure.code is 'Code of its first activity.';
comment on column failure.production_day is 'Production day on which it began.';
comment on column failure.chainage_m is 'Chainage of the face when it began. [m]';
