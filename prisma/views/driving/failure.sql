-- One row per failure: a maximal run of breakdown time of the same equipment, or of the same code where none is named. Two activities belong to
-- one run if they adjoin, also across a shift change and the start of a day; and if the shift changes between them and only planned stops and time
-- outside working time, such as crew change and breaks, are booked in between: the repair continued with another crew. A calendar shift that nobody
-- posted, and that no other shift covers, separates them, because it is unknown what happened then; on closed days no shift is expected.
-- active_until_end and active_until_start sum the time other than such stops, until the end and until the start of an entry: the first for one entry
-- and the second for the next are equal if there is none in between.
create or replace view failure as
select
  p.code as project_code, d.code as drive_code, f.equipment_code, f.code, f.started_at, f.ended_at, f.production_day,
  f.seconds, f.seconds / 3600 as hours, f.activity_count, chainage_of_driven(d.start_chainage_m, d.direction, f.face_m) as chainage_m, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select equipment_code, unnamed_code, run, (array_agg(code order by started_at))[1] as code, min(started_at) as started_at, max(ended_at) as ended_at,
    min(production_day) as production_day, sum(seconds) as seconds, count(distinct activity_id)::int as activity_count,
    (array_agg(face_m order by started_at))[1] as face_m
  from (
    select *, count(*) filter (where begins) over (partition by equipment_code, unnamed_code order by started_at) as run
    from (
      select p.*, coalesce(p.before_at <> p.started_at and (p.is_within or p.has_active_between or exists (
          select from missing_shift u where u.drive_id = d.id and u.from_at < p.started_at and u.to_at > p.before_at
            and not exists (select from shift s where s.drive_id = d.id and s.starts_at <= u.from_at and s.ends_at >= u.to_at))), true) as begins
      from (
        select e.*, case when e.equipment_code is null then e.code end as unnamed_code, lag(e.ended_at) over alike as before_at,
          lag(e.shift_id) over alike = e.shift_id as is_within, lag(e.active_until_end) over alike <> e.active_until_start as has_active_between
        from (
          select t.*, sum(t.active) over so_far as active_until_end, sum(t.active) over so_far - t.active as active_until_start
          from (
            select l.*, case when l.counts_as in ('planned_stop', 'outside_working_time') then 0 else l.seconds end as active
            from ledger_entry l where l.drive_id = d.id
          ) t
          window so_far as (order by t.started_at, t.activity_id)
        ) e
        where e.counts_as = 'breakdown'
        window alike as (partition by e.equipment_code, case when e.equipment_code is null then e.code end order by e.started_at)
      ) p
    ) reported
  ) counted
  group by equipment_code, unnamed_code, run
) f;

comment on view failure is
  'Failures of a drive: breakdown time of one piece of equipment, or of one code where none is named, that adjoins or that only crew change, breaks and time '
  'outside working time part over a shift change, with no shift of the calendar between that was not posted; hours of the breakdown time. [h]';
comment on column failure.code is 'Code of its first activity.';
comment on column failure.production_day is 'Production day on which it began.';
comment on column failure.chainage_m is 'Chainage of the face when it began. [m]';
