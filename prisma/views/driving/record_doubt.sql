-- One row per doubt: an unlikely entry of the record, by the limits in force and the current state of the record: a doubt caused by metres that
-- are not posted yet clears when they are posted.
create or replace view record_doubt as
with doubt as (
  -- readings and times of borings
  select b.drive_id, b.shift_id, 'stroke' as record, b.stroke_number::text as name, b.stroke_number, null::int as line, b.from_m, b.to_m,
    b.doubt, b.measured, b.limit_value, b.unit
  from boring_doubt b
  union all
  -- the length of a stroke, with all its borings, reported at the last one: the strokes of a shift are found by their numbers
  select s.drive_id, s.id, 'stroke', k.stroke_number::text, k.stroke_number, null, k.from_m, k.to_m,
    'stroke_longer_than_machine', k.length_m::float8, l.most_stroke_m::float8, 'm'
  from shift s
  join (select drive_id, valid_from, valid_to, most_stroke_m from drive_limit offset 0) l
    on l.drive_id = s.drive_id and s.shift_date >= l.valid_from and s.shift_date < l.valid_to
  cross join lateral (
    select min(b.stroke_number) as first, max(b.stroke_number) as last from boring b where b.shift_id = s.id offset 0
  ) own
  cross join lateral (
    select r.stroke_number, min(r.from_m) as from_m, max(r.to_m) as to_m, sum(r.to_m - r.from_m) as length_m
    from boring r where r.drive_id = s.drive_id and r.stroke_number between own.first and own.last
    group by r.stroke_number having sum(r.to_m - r.from_m) > l.most_stroke_m
    offset 0
  ) k
  where (select b.shift_id from boring b where b.drive_id = s.drive_id and b.to_m = k.to_m) = s.id
  union all
  -- the same where the last boring belongs to no shift
  select d.id, null, 'stroke', k.stroke_number::text, k.stroke_number, null, k.from_m, k.to_m,
    'stroke_longer_than_machine', k.length_m::float8, l.most_stroke_m::float8, 'm'
  from drive d
  join project p on p.id = d.project_id
  cross join lateral (
    select o.*, b.started_at
    from (
      select r.stroke_number, min(r.from_m) as from_m, max(r.to_m) as to_m, sum(r.to_m - r.from_m) as length_m
      from boring r where r.drive_id = d.id and exists (select from boring u where u.drive_id = d.id and u.shift_id is null) group by r.stroke_number
      having sum(r.to_m - r.from_m) > (select min(m.most_stroke_m) from drive_limit m where m.drive_id = d.id)
    ) o
    join boring b on b.drive_id = d.id and b.to_m = o.to_m and b.shift_id is null
    offset 0
  ) k
  join drive_limit l on l.drive_id = d.id and k.length_m > l.most_stroke_m
  cross join lateral (select bored_on(null, k.started_at, p.time_zone, p.day_start) as day offset 0) bored
  where bored.day >= l.valid_from and bored.day < l.valid_to
  union all
  -- support: an excessive quantity, where one at a single chainage or over less than a metre counts as that of a metre; support and ground ahead of the face at
  -- the end of the shift, except spiles, drains and fill, which reach ahead by nature. Lines are found shift by shift; an integer check passes most of them
  select s.drive_id, s.id, a.record, f.name, null, a.line, a.from_m, a.to_m, f.doubt, f.measured, f.limit_value, f.unit
  from shift s
  join (
    select l.drive_id, l.valid_from, l.valid_to, l.ahead_of_face_m, most.item_ids, most.per_m, most.whole_per_m
    from drive_limit l
    join drive d on d.id = l.drive_id
    cross join lateral (
      select array_agg(k.id) as item_ids, array_agg(k.per_m) as per_m, array_agg(floor(k.per_m)::int) as whole_per_m
      from (
        select i.id, coalesce(m.most_per_m, usual_most_per_m(i.kind, i.unit, d.bored_diameter_m)) as per_m
        from support_item i left join doubt_limit_item m on m.doubt_limit_id = l.doubt_limit_id and m.support_item_id = i.id
        where i.project_id = d.project_id
        offset 0
      ) k
    ) most
    offset 0
  ) l on l.drive_id = s.drive_id and s.shift_date >= l.valid_from and s.shift_date < l.valid_to
  cross join lateral (
    select coalesce((select b.to_m from boring b where b.drive_id = s.drive_id and b.started_at < s.ends_at order by b.started_at desc limit 1),
      0) as m offset 0
  ) face
  cross join lateral (select face.m + l.ahead_of_face_m as m offset 0) furthest
  cross join lateral (
    select 'support' as record, r.support_item_id as id, r.line, r.from_m, r.to_m, r.quantity, array_position(l.item_ids, r.support_item_id) as nth
    from support_installed r
    where r.shift_id = s.id and r.drive_id = s.drive_id
      and (r.to_m > furthest.m or r.quantity > l.whole_per_m[array_position(l.item_ids, r.support_item_id)])
    union all
    select 'ground', g.ground_class_id, null, g.from_m, g.to_m, null, null
    from ground_interval g where g.shift_id = s.id and g.to_m > furthest.m
    offset 0
  ) a
  cross join lateral (
    select i.code as name, 'quantity_too_high' as doubt, (a.quantity / greatest(a.to_m - a.from_m, 1))::float8 as measured,
      l.per_m[a.nth]::float8 as limit_value,
      i.unit || '/m' as unit
    from support_item i where a.record = 'support' and i.id = a.id and a.quantity > l.per_m[a.nth] * greatest(a.to_m - a.from_m, 1)
    union all
    select ahead.name, 'ahead_of_face', (a.to_m - face.m)::float8, l.ahead_of_face_m::float8, 'm'
    from (
      select i.code as name from support_item i where a.record = 'support' and i.id = a.id and i.kind not in ('spile', 'drain', 'cavity_fill')
      union all
      select k.code from ground_class k where a.record = 'ground' and k.id = a.id
    ) ahead
    where a.to_m > furthest.m
      and not exists (select from boring u where u.drive_id = s.drive_id and u.started_at is null and u.to_m > face.m and u.to_m >= a.to_m - l.ahead_of_face_m)
  ) f
  union all
  -- logs and overbreak ahead of the face at the end of the production day on which they were made
  select a.drive_id, null, a.record, a.name, null, null, a.from_m, a.to_m, 'ahead_of_face', (a.to_m - face.m)::float8, l.ahead_of_face_m::float8, 'm'
  from (
    select drive_id, 'ground_log' as record, name, from_m, to_m, mapped_at as made_at from ground_log_sheet
    union all
    select drive_id, 'overbreak', name, from_m, to_m, surveyed_at from overbreak_item
  ) a
  join drive d on d.id = a.drive_id
  join project p on p.id = d.project_id
  cross join lateral (select production_day(a.made_at, p.time_zone, p.day_start) as day offset 0) made
  join drive_limit l on l.drive_id = a.drive_id and coalesce(made.day, '-infinity') >= l.valid_from and coalesce(made.day, '-infinity') < l.valid_to
  cross join lateral (
    select coalesce(case when a.made_at is null then (select max(b.to_m) from boring b where b.drive_id = a.drive_id)
      else (select b.to_m from boring b where b.drive_id = a.drive_id and b.started_at < production_day_start(made.day + 1, p.time_zone, p.day_start)
        order by b.started_at desc limit 1) end, 0) as m
  ) face
  where a.to_m > face.m + l.ahead_of_face_m
    and not exists (select from boring u where u.drive_id = a.drive_id and u.started_at is null and u.to_m > face.m and u.to_m >= a.to_m - l.ahead_of_face_m)
)
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  s.state as shift_state,
  doubt.doubt,
  doubt.record,
  doubt.name,
  doubt.stroke_number,
  doubt.line,
  chainage_of_driven(d.start_chainage_m, d.direction, doubt.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, doubt.to_m) as to_chainage_m,
  round(doubt.measured::numeric, 3) as measured,
  round(doubt.limit_value::numeric, 3) as limit_value,
  doubt.unit,
  c.reason,
  c.confirmed_by,
  c.confirmed_at,
  doubt.from_m,
  doubt.to_m,
  doubt.drive_id,
  doubt.shift_id
from doubt
join drive d on d.id = doubt.drive_id
join project p on p.id = d.project_id
left join shift s on s.id = doubt.shift_id
left join calendar_shift n on n.id = s.calendar_shift_id
left join lateral (
  select f.reason, f.confirmed_by, f.confirmed_at from shift_confirmation f
  where f.shift_id = doubt.shift_id and f.doubt = doubt.doubt and (f.from_m is null or f.from_m = doubt.from_m)
  order by f.from_m nulls last, f.line limit 1
) c on true;

comment on view record_doubt is 'Doubts about the record: what is unlikely by the limits in force, and whether it was confirmed when the shift was posted.';
comment on column record_doubt.shift_date is 'Date of the shift; null: not of a shift.';
comment on column record_doubt.doubt is
  'ahead_of_face, stroke_longer_than_machine, thrust_above_rating, thrust_too_low, torque_above_rating, torque_too_low, rate_too_high, rate_too_low or '
  'quantity_too_high.';
comment on column record_doubt.record is 'What is doubted: stroke, support, ground, ground_log or overbreak.';
comment on column record_doubt.name is 'Number of the stroke, code of the support item or ground class, name of the log or item.';
comment on column record_doubt.line is 'Line of the support list of the shift.';
comment on column record_doubt.measured is 'The figure of the record, in the unit.';
comment on column record_doubt.limit_value is 'Limit that was exceeded or not reached, in the unit.';
comment on column record_doubt.unit is 'Unit of both.';
comment on column record_doubt.reason is 'Why the figure is correct nevertheless; null: not confirmed.';
comment on column record_doubt.confirmed_by is 'Who confirmed it with the current version of the shift.';
comment on column record_doubt.from_m is 'Where what is doubted begins, driven metres. [m]';
comment on column record_doubt.to_m is 'Where it ends, driven metres. [m]';
