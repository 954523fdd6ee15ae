-- Operating time, repair time and failures: for the drive (whole), and for each piece of equipment named in its ledger, or code that broke down
-- without one. The operating time of the drive, and of such a code, is boring and regripping; that of a piece of equipment is the time of the
-- classes during which it is in use. A failure counts on the day on which it began, and repair time on its own days, so that adjoining ranges of
-- days add up.
create or replace function reliability_by(drive int, from_day date, to_day date)
returns table (whole boolean, equipment_code text, code text, operating_hours numeric, repair_hours numeric, failure_count int, mtbf_hours numeric,
  mttr_hours numeric, availability numeric)
language sql stable begin atomic
  with entry as (
    select equipment_code, case when equipment_code is null then code end as code, counts_as, seconds from booked_part
    where drive_id = reliability_by.drive and production_day >= coalesce(from_day, '-infinity') and production_day <= coalesce(to_day, 'infinity')
  ), class_time as materialized (
    select counts_as, sum(seconds) as seconds from entry group by counts_as
  ), operating as (
    select coalesce(sum(seconds), 0) as seconds from class_time where counts_as in ('boring', 'regripping')
  ), item as (
    select equipment_code, code, coalesce(sum(seconds) filter (where counts_as = 'breakdown'), 0) as repair, 0 as failures
    from entry where equipment_code is not null or counts_as = 'breakdown' group by equipment_code, code
    union all
    select equipment_code, case when equipment_code is null then code end, 0, 1 from failure
    where drive_id = reliability_by.drive and production_day >= coalesce(from_day, '-infinity') and production_day <= coalesce(to_day, 'infinity')
  ), total as (
    select grouping(equipment_code) = 1 as whole, equipment_code, code, coalesce(sum(repair), 0) as repair, coalesce(sum(failures), 0)::int as failures
    from item group by grouping sets ((), (equipment_code, code))
  )
  select t.whole, t.equipment_code, t.code, o.seconds / 3600, t.repair / 3600, t.failures, o.seconds / 3600 / nullif(t.failures, 0),
    t.repair / 3600 / nullif(t.failures, 0), round(o.seconds / nullif(o.seconds + t.repair, 0), 6)
  from total t
  cross join lateral (
    select case when t.equipment_code is null then (select seconds from operating) else (
      select coalesce(sum(c.seconds), 0) from class_time c
      where c.counts_as = any (
        select unnest(q.in_use_during)::text from equipment q join drive d on d.project_id = q.project_id
        where d.id = reliability_by.drive and q.code = t.equipment_code))
    end as seconds
  ) o;
end;

comment on function reliability_by(int, date, date) is
  'Operating and repair hours, failures, MTBF, MTTR and mechanical availability of a drive (whole) and of its equipment; from and to production days.';
