-- What is missing from the record, one row per item. Items of a shift must be settled before it is submitted.
create or replace view open_item as
with item as (
  -- all that a shift itself misses, from its own rows, found by the index: metres between a boring and the one behind it, or the drive's start; time before an
  -- activity, or before the end of the shift, that no activity covers; and the boring time of the activities against that of the strokes.
  -- Activities lie in their shift and do not overlap: if they total its length, no time is missing. Likewise the borings: if they total the metres from the
  -- first to the last, and another one ends where they begin, no metres are missing
  select t.kind, s.drive_id, s.id as shift_id, t.stroke_number, t.from_m, t.to_m, t.from_at, t.to_at, t.ledger_hours, t.boring_hours, null::date as shift_date,
    null::text as shift_name, null::text as name, null::text as subject, null::date as due_on, null::int as days_left
  from shift s
  cross join lateral (
    select coalesce(extract(epoch from sum(a.ended_at - a.started_at)), 0) as seconds,
      coalesce(extract(epoch from sum(a.ended_at - a.started_at) filter (where a.activity_code_id = any (array(select id from activity_code
        where counts_as = 'boring')))), 0)
        as boring_seconds
    from activity a where a.shift_id = s.id
  ) ledger
  cross join lateral (
    select coalesce(extract(epoch from sum(b.ended_at - b.started_at)), 0) as seconds, sum(b.to_m - b.from_m) as length_m, min(b.from_m) as from_m,
      max(b.to_m) as to_m
    from boring b where b.shift_id = s.id
  ) bored
  cross join lateral (
    select 'metres_missing' as kind, b.stroke_number,
      coalesce((select behind.to_m from boring behind where behind.drive_id = s.drive_id and behind.to_m < b.from_m order by behind.to_m desc limit 1),
        0) as from_m,
      b.from_m as to_m, null::timestamptz as from_at, null::timestamptz as to_at, null::numeric as ledger_hours, null::numeric as boring_hours
    from boring b
    where b.shift_id = s.id
      and (bored.length_m <> bored.to_m - bored.from_m or not exists (select from boring e where e.drive_id = s.drive_id and e.to_m = bored.from_m))
      and b.from_m > 0 and not exists (select from boring e where e.drive_id = s.drive_id and e.to_m = b.from_m)
    union all
    select 'minutes_missing', null, null, null, gap.from_at, gap.to_at, null, null
    from (
      select t.started_at as to_at, coalesce(max(t.ended_at) over (order by t.is_end, t.started_at rows between unbounded preceding and 1 preceding),
        s.starts_at) as from_at
      from (
        select started_at, ended_at, false as is_end from activity where shift_id = s.id
        union all
        select s.ends_at, s.ends_at, true
      ) t
      where ledger.seconds <> extract(epoch from s.ends_at - s.starts_at)
    ) gap
    where gap.from_at < gap.to_at
    union all
    select 'boring_time_differs', null, null, null, s.starts_at, s.ends_at, round(ledger.boring_seconds / 3600, 4), round(bored.seconds / 3600, 4)
    where ledger.boring_seconds <> bored.seconds
  ) t
  union all
  -- metres before a boring that belongs to no shift
  select 'metres_missing', b.drive_id, null, b.stroke_number,
    coalesce((select behind.to_m from boring behind where behind.drive_id = b.drive_id and behind.to_m < b.from_m order by behind.to_m desc limit 1), 0),
    b.from_m, null, null, null, null, null, null, null, null, null, null
  from boring b
  where b.shift_id is null and b.from_m > 0 and not exists (select from boring e where e.drive_id = b.drive_id and e.to_m = b.from_m)
  union all
  -- shifts of the calendar that have not been posted
  select 'shift_missing', m.drive_id, null, null, null, null, m.from_at, m.to_at, null, null, m.shift_date, m.shift_name, null, null, null, null
    from missing_shift m
  union all
  -- probe holes whose time of drilling is unknown: they give no cover and are not paid
  select 'probe_hole_without_time', h.drive_id, null, null, h.collar_m, null, null, null, null, null, null, null, h.name, null, null, null
  from probe_hole h where h.drilled_at is null
  union all
  -- notices that have not been sent
  select 'notice_' || n.state, n.drive_id, null, null, n.from_m, n.to_m, n.happened_at, null, null, null, n.shift_date, n.shift_name, n.code,
    n.rule_name || ' (' || n.rule_clause || '): ' || n.concerns, n.due_on, n.days_left
  from notice n where n.state in ('due', 'overdue')
)
select
  p.code as project_code,
  d.code as drive_code,
  item.kind,
  coalesce(s.shift_date, item.shift_date) as shift_date,
  coalesce(n.name, item.shift_name) as shift_name,
  item.stroke_number,
  chainage_of_driven(d.start_chainage_m, d.direction, item.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, item.to_m) as to_chainage_m,
  case when item.kind = 'metres_missing' then item.to_m - item.from_m end as missing_m,
  item.from_at,
  item.to_at,
  case when item.kind in ('minutes_missing', 'shift_missing') then round(extract(epoch from item.to_at - item.from_at) / 60, 2) end as missing_minutes,
  item.ledger_hours,
  item.boring_hours,
  item.from_m,
  item.drive_id,
  item.shift_id,
  timezone(p.time_zone, item.from_at) as from_local,
  timezone(p.time_zone, item.to_at) as to_local,
  item.name,
  item.subject,
  item.due_on,
  item.days_left,
  null::text as doubt,
  null::text as record,
  null::numeric as measured,
  null::numeric as limit_value,
  null::text as unit,
  null::int as line
from item
join drive d on d.id = item.drive_id
join project p on p.id = d.project_id
left join shift s on s.id = item.shift_id
left join calendar_shift n on n.id = s.calendar_shift_id
union all
-- doubts not confirmed by the person who posts the shift; a countersigned shift has been agreed with everything in it
select r.project_code, r.drive_code, 'doubt', r.shift_date, r.shift_name, r.stroke_number, r.from_chainage_m, r.to_chainage_m, null, null, null, null, null,
  null,
  r.from_m, r.drive_id, r.shift_id, null, null, r.name, null, null, null, r.doubt, r.record, r.measured, r.limit_value, r.unit, r.line
from record_doubt r
where r.confirmed_by is null and (r.shift_state <> 'countersigned' or r.record in ('ground_log', 'overbreak'));

comment on view open_item is
  'What the record misses: metres_missing, minutes_missing, boring_time_differs, shift_missing, probe_hole_without_time, notice_due, notice_overdue, doubt. '
  'The first three, and doubts about it, must be settled before a shift is submitted.';
comment on column open_item.missing_m is 'Metres without a boring. [m]';
comment on column open_item.missing_minutes is 'Time without an activity. [min]';
comment on column open_item.ledger_hours is 'Boring time booked in the activities. [h]';
comment on column open_item.boring_hours is 'Boring time of the strokes. [h]';
comment on column open_item.from_local is 'from_at in the project''s time zone.';
comment on column open_item.to_local is 'to_at in the project''s time zone.';
comment on column open_item.name is 'Name of the probe hole, code of the notice; of a doubt, what record_doubt calls it.';
comment on column open_item.subject is 'What a notice is due for: rule, clause and what it concerns.';
comment on column open_item.due_on is 'Last local day on which a notice can be sent in time.';
comment on column open_item.days_left is 'Days until then, negative when overdue, at the moment asked for. [d]';
comment on column open_item.doubt is 'The doubt, as in record_doubt.';
comment on column open_item.record is 'What is doubted: stroke, support, ground, ground_log or overbreak.';
comment on column open_item.measured is 'The figure that is doubted, in the unit.';
comment on column open_item.limit_value is 'Limit that was exceeded or not reached, in the unit.';
comment on column open_item.unit is 'Unit of both.';
comment on column open_item.line is 'Line of the support list of the shift.';
