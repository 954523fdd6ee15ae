-- One row per shift. advance_m: metres bored in the shift, 0 when none. [m]
-- The parts are joined by drive too, so that a query for one drive reads that drive only.
create or replace view shift_advance as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  s.state::text as state,
  s.starts_at,
  s.ends_at,
  coalesce(b.advance_m, 0.000) as advance_m,
  coalesce(b.stroke_count, 0) as stroke_count,
  round(coalesce(b.boring_seconds, 0) / 3600, 4) as boring_hours,
  chainage_of_driven(d.start_chainage_m, d.direction, b.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, b.to_m) as face_chainage_m,
  sum(coalesce(b.advance_m, 0.000)) over (partition by s.drive_id order by s.starts_at) as cumulative_m,
  s.drive_id,
  s.id as shift_id
from shift s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
join calendar_shift n on n.id = s.calendar_shift_id
left join (
  select drive_id, shift_id, sum(advance_m) as advance_m, count(distinct stroke_number)::int as stroke_count,
    sum(boring_seconds) as boring_seconds, min(from_m) as from_m, max(to_m) as to_m
  from boring_shift group by drive_id, shift_id
) b on b.drive_id = s.drive_id and b.shift_id = s.id;

comment on view shift_advance is 'One row per shift: metres bored in it, by boring time.';
comment on column shift_advance.advance_m is 'Metres bored in the shift, 0 when none. [m]';
comment on column shift_advance.stroke_count is 'Strokes bored at in the shift.';
comment on column shift_advance.boring_hours is 'Boring time of the strokes in the shift. [h]';
comment on column shift_advance.from_chainage_m is 'Where the shift''s first boring began; null when none. [m]';
comment on column shift_advance.face_chainage_m is 'Where the shift''s last boring ended; null when none. [m]';
comment on column shift_advance.cumulative_m is 'Sum of the advance of this and all earlier shifts of the drive. [m]';
