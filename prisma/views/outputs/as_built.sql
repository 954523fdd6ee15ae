-- The as-built record of a chainage interval: every stroke, ground note and line of support that touches it, with the quantity within it (for
-- strokes and ground: metres); lines of pieces with none within are left out. The interval is half open along the drive, closed at the end of the
-- drive. Stroke numbers rise along the drive, so the strokes that touch it have consecutive numbers.
create or replace function as_built(project text, drive text, from_chainage numeric, to_chainage numeric)
returns table (
  record text, from_chainage_m numeric, to_chainage_m numeric, reference text, description text, started_at timestamptz,
  ended_at timestamptz, quantity numeric, unit text, zone text, arc_from_deg numeric, arc_to_deg numeric, thickness_mm numeric,
  torque_ratio float8, regular_advance boolean, shift_date date, shift_name text, remark text, from_m numeric, to_m numeric, shifts jsonb)
language sql stable begin atomic
  with ends as (
    select d.id, least(a, b) as low_m, range_end(a, b, drive_length(d.start_chainage_m, d.end_chainage_m)) as high_m
    from drive d join project p on p.id = d.project_id
    cross join lateral (select driven_of_chainage(d.start_chainage_m, d.direction, as_built.from_chainage) as a,
      driven_of_chainage(d.start_chainage_m, d.direction, as_built.to_chainage) as b) asked
    where p.code = project and d.code = drive
  ), place as materialized ( -- with a range computed beforehand, the index is used under row-level security too
    select *, numrange(low_m, high_m, '[]') as span,
      (select coalesce(max(from_m), 0) from ground_interval g where g.drive_id = ends.id and g.from_m <= low_m) as first_note_m
    from ends
  )
  select 'stroke', k.from_chainage_m, k.to_chainage_m, k.stroke_number::text, null::text, k.started_at, k.ended_at,
    apportion(k.length_m, k.from_m, k.to_m, place.low_m, place.high_m), 'm', null::text, null::numeric, null::numeric, null::numeric,
    k.torque_ratio, k.regular_advance, s.shift_date, s.shift_name, null::text, k.from_m, k.to_m, s.shifts
  from place
  cross join lateral (
    select (select stroke_number from boring where drive_id = place.id and to_m > place.low_m order by to_m limit 1) as first_number,
      (select stroke_number from boring where drive_id = place.id and from_m < place.high_m order by from_m desc limit 1) as last_number
  ) touched
  cross join lateral (
    select * from stroke where drive_id = place.id and stroke_number between touched.first_number and touched.last_number offset 0
  ) k
  left join lateral (
    select (array_agg(t.shift_date order by t.to_m desc))[1] as shift_date, (array_agg(t.shift_name order by t.to_m desc))[1] as shift_name,
      jsonb_agg(jsonb_build_object('date', t.shift_date, 'shift', t.shift_name) order by t.to_m) as shifts
    from (
      select sh.shift_date, n.name as shift_name, max(b.to_m) as to_m
      from boring b
      join shift sh on sh.id = b.shift_id
      join calendar_shift n on n.id = sh.calendar_shift_id
      where b.drive_id = k.drive_id and b.stroke_number = k.stroke_number
      group by sh.shift_date, n.name
    ) t
  ) s on true
  where k.to_m > place.low_m and k.from_m < place.high_m
  union all
  select 'ground', g.from_chainage_m, g.to_chainage_m, g.ground_class_code, g.lithology, null, null,
    apportion(g.length_m, g.from_m, g.to_m, place.low_m, place.high_m), 'm', null, null, null, null,
    null, null, g.shift_date, g.shift_name, g.remark, g.from_m, g.to_m, null
  from place
  join ground g on g.drive_id = place.id and g.from_m >= place.first_note_m and g.to_m > place.low_m and g.from_m < place.high_m
  union all
  select 'support', r.from_chainage_m, r.to_chainage_m, r.item_code, r.description, r.installed_at, null,
    within.quantity, r.unit, r.zone, r.arc_from_deg, r.arc_to_deg, r.thickness_mm,
    null, null, r.shift_date, r.shift_name, r.remark, r.from_m, r.to_m, null
  from place
  join support_row r on r.drive_id = place.id and r.span && place.span
    and r.from_m < place.high_m and (r.to_m > place.low_m or r.from_m >= place.low_m)
  cross join lateral (select apportion(r.quantity, r.pieces, r.from_m, r.to_m, r.positions_m, place.low_m, place.high_m) as quantity) within
  where r.pieces is null or within.quantity > 0;
end;

comment on function as_built(text, text, numeric, numeric) is
  'As-built record of a chainage interval [m]: strokes, ground and support that touch it, with the quantity that falls within. shifts: of a stroke, all that '
  'bored it, in the order of their last metres (date, shift); shift_date and shift_name are those of the last one.';
