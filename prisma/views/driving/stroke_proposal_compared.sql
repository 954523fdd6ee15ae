-- A proposal of strokes compared with the record: each proposed boring with the posted boring that it overlaps most, followed
-- by the posted borings of the span that no proposed one overlaps. Borings of a drive do not overlap, so those that one
-- overlaps begin with the last one that begins behind it.
create or replace function stroke_proposal_compared(project text, drive text, proposal int)
returns table (
  place int, proposed_stroke int, from_m numeric, to_m numeric, started_at timestamptz, ended_at timestamptz, sample_count int,
  thrust_kn float8, torque_knm float8, rotation_rpm float8, penetration_rate_mm_per_min float8, penetration_mm_per_rev float8,
  gripper_pressure_bar float8, muck_mass_t numeric, stroke_number int, shift_date date, shift_name text, posted_from_m numeric,
  posted_to_m numeric, posted_started_at timestamptz, posted_ended_at timestamptz, met_count int, from_difference_mm int,
  to_difference_mm int, start_difference_min numeric, end_difference_min numeric)
language sql stable begin atomic
  with asked as (
    select q.drive_id, q.from_at, q.to_at, q.borings from stroke_proposal q
    join drive d on d.id = q.drive_id
    join project p on p.id = d.project_id
    where p.code = stroke_proposal_compared.project and d.code = stroke_proposal_compared.drive and q.number = stroke_proposal_compared.proposal
  ), proposed as materialized (
    select asked.drive_id, r.*
    from asked cross join lateral rows from (jsonb_to_recordset(asked.borings) as (stroke int, "fromM" numeric, "toM" numeric,
      "startedAt" timestamptz, "endedAt" timestamptz, "sampleCount" int, "thrustKn" float8, "torqueKnm" float8, "rotationRpm" float8,
      "penetrationRateMmPerMin" float8, "penetrationMmPerRev" float8, "gripperPressureBar" float8, "muckMassT" numeric)) with ordinality
      r(stroke, from_m, to_m, started_at, ended_at, sample_count, thrust_kn, torque_knm, rotation_rpm, penetration_rate_mm_per_min,
        penetration_mm_per_rev, gripper_pressure_bar, muck_mass_t, place)
  ), met as materialized (
    select r.place, o.id, o.stroke_number, o.shift_id, o.from_m, o.to_m, o.started_at, o.ended_at,
      metres_within(o.from_m, o.to_m, r.from_m, r.to_m) as common_m
    from proposed r
    cross join lateral (
      select coalesce(max(b.from_m), 0) as first_m from boring b where b.drive_id = r.drive_id and b.from_m <= r.from_m
    ) begun
    cross join lateral (
      select * from boring b where b.drive_id = r.drive_id and b.from_m >= begun.first_m and b.from_m < r.to_m and b.to_m > r.from_m offset 0
    ) o
  ), most as (
    select distinct on (place) met.*, count(*) over (partition by place)::int as met_count from met order by place, common_m desc, from_m
  ), posted as (
    select null::int as place, b.stroke_number, b.shift_id, b.from_m, b.to_m, b.started_at, b.ended_at
    from asked join boring b on b.drive_id = asked.drive_id and b.started_at < asked.to_at and b.ended_at > asked.from_at
    where b.id not in (select id from met)
  )
  select r.place::int, r.stroke, r.from_m, r.to_m, r.started_at, r.ended_at, r.sample_count, r.thrust_kn, r.torque_knm, r.rotation_rpm,
    r.penetration_rate_mm_per_min, r.penetration_mm_per_rev, r.gripper_pressure_bar, r.muck_mass_t,
    o.stroke_number, s.shift_date, n.name, o.from_m, o.to_m, o.started_at, o.ended_at, coalesce(o.met_count, 0),
    ((r.from_m - o.from_m) * 1000)::int, ((r.to_m - o.to_m) * 1000)::int,
    round(extract(epoch from r.started_at - o.started_at) / 60, 3), round(extract(epoch from r.ended_at - o.ended_at) / 60, 3)
  from proposed r
  left join most o on o.place = r.place
  left join shift s on s.id = o.shift_id
  left join calendar_shift n on n.id = s.calendar_shift_id
  union all
  select null, null, null, null, null, null, null, null, null, null, null, null, null, null,
    o.stroke_number, s.shift_date, n.name, o.from_m, o.to_m, o.started_at, o.ended_at, 0, null, null, null, null
  from posted o
  left join shift s on s.id = o.shift_id
  left join calendar_shift n on n.id = s.calendar_shift_id
  order by 1 nulls last, 18;
end;

comment on function stroke_proposal_compared(text, text, int) is
  'Borings of a stroke proposal, each with the posted boring it has most metres in common with: differences proposed less posted [mm, min]; then posted '
  'borings of its span that none meets (place is null).';
