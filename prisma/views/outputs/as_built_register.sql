-- The other registers in a chainage interval, one row per record that touches it: class decisions (in every state), ground logs, discontinuities,
-- overbreak, probe holes, indications and encounters, hold points, inflow over intervals, water tests, support required against installed,
-- attachments by place. What the shifts reported is in as_built. Half open along the drive, closed at its end.
create or replace function as_built_register(project text, drive text, from_chainage numeric, to_chainage numeric)
returns table (
  record text, from_chainage_m numeric, to_chainage_m numeric, reference text, description text, state text, quantity numeric, unit text,
  recorded_by text, recorded_at timestamptz, remark text, from_m numeric, to_m numeric)
language sql stable begin atomic
  with place as materialized (
    select d.id, least(asked.a, asked.b) as low_m, d.start_chainage_m, d.direction,
      range_end(asked.a, asked.b, drive_length(d.start_chainage_m, d.end_chainage_m)) as high_m
    from drive d
    join project p on p.id = d.project_id
    cross join lateral (
      select driven_of_chainage(d.start_chainage_m, d.direction, as_built_register.from_chainage) as a,
        driven_of_chainage(d.start_chainage_m, d.direction, as_built_register.to_chainage) as b
    ) asked
    where p.code = as_built_register.project and d.code = as_built_register.drive
  )
  select 'class_decision', c.from_chainage_m, c.to_chainage_m, c.number::text, c.ground_class_code, c.state, c.length_m, 'm', c.proposed_by, c.proposed_at,
    c.remark, c.from_m, c.to_m
  from place join class_decision_register c on c.drive_id = place.id and c.to_m > place.low_m and c.from_m < place.high_m
  union all
  select 'ground_log', l.from_chainage_m, l.to_chainage_m, l.name,
    concat_ws(', ', l.lithology, 'Q ' || trim_scale(round(l.q::numeric, 2 - floor(log(l.q::numeric))::int)), 'RMR ' || l.rmr, 'GSI ' || l.gsi),
      l.water_state::text, l.water_inflow_l_per_min_per_10m::numeric,
    case when l.water_inflow_l_per_min_per_10m is not null then 'l/min per 10 m' end, l.mapped_by, l.mapped_at, l.remark, l.from_m, l.to_m
  from place join ground_log l on l.drive_id = place.id and l.to_m > place.low_m and l.from_m < place.high_m
  union all
  select 'discontinuity', t.chainage_m, t.chainage_m, t.name,
    t.type || ' ' || trim_scale(t.dip_deg) || '/' || trim_scale(t.dip_direction_deg), t.seepage, null, null, t.mapped_by,
    t.mapped_at, t.remark, t.at_m, t.at_m
  from place join discontinuity_row t on t.drive_id = place.id and t.at_m >= place.low_m and t.at_m < place.high_m
  union all
  select 'overbreak', o.from_chainage_m, o.to_chainage_m, o.name, o.cause, null, o.volume_m3, 'm3', o.surveyed_by, o.surveyed_at, o.remark, o.from_m, o.to_m
  from place join overbreak o on o.drive_id = place.id and o.to_m > place.low_m and o.from_m < place.high_m
  union all
  select 'probe_hole', chainage_of_driven(place.start_chainage_m, place.direction, h.collar_m),
    chainage_of_driven(place.start_chainage_m, place.direction, h.collar_m + h.axial_reach_m), h.name,
    case when h.water_inflow_l_per_min is not null then 'water ' || h.water_inflow_l_per_min || ' l/min' end,
    null, h.length_m, 'm', null, h.drilled_at, h.remark, h.collar_m, h.collar_m + h.axial_reach_m
  from place join probe_hole h on h.drive_id = place.id and h.collar_m < place.high_m
    and (h.collar_m + h.axial_reach_m > place.low_m or h.collar_m >= place.low_m)
  union all
  select 'investigation', chainage_of_driven(place.start_chainage_m, place.direction, v.from_m),
    chainage_of_driven(place.start_chainage_m, place.direction, v.to_m), v.name,
    coalesce(v.method_name, v.method::text), null, v.to_m - v.from_m, 'm', v.made_by, v.made_at, v.remark, v.from_m, v.to_m
  from place join investigation v on v.drive_id = place.id and v.to_m > place.low_m and v.from_m < place.high_m and v.made_at <= (select moment_asked())
  union all
  select 'indication', o.from_chainage_m, o.to_chainage_m, o.investigation || ' ' || o.key, concat_ws(', ', o.kind, coalesce(o.method_name, o.method),
      'met: ' || o.encounter_name), o.outcome, o.position_error_m, case when o.position_error_m is not null then 'm' end, o.made_by, o.made_at, o.remark,
        o.from_m, o.to_m
  from place join indication_outcome o on o.drive_id = place.id and (o.to_m > place.low_m or o.from_m >= place.low_m) and o.from_m < place.high_m
  union all
  select 'encounter', chainage_of_driven(place.start_chainage_m, place.direction, e.from_m),
    chainage_of_driven(place.start_chainage_m, place.direction, e.to_m), e.name,
    e.kind || ', met by ' || e.source, null, e.to_m - e.from_m, 'm', e.met_by, e.met_at, e.remark, e.from_m, e.to_m
  from place join encounter e on e.drive_id = place.id and (e.to_m > place.low_m or e.from_m >= place.low_m) and e.from_m < place.high_m
    and e.met_at <= (select moment_asked())
  union all
  select 'hold_point', h.chainage_m, h.chainage_m, h.code, h.reason,
    case when h.is_released then case when h.is_released_late then 'released_late' else 'released' end when h.is_passed then 'passed_unreleased'
      else 'standing' end,
    null, null, r.released_by, h.released_at, r.evidence, h.at_m, h.at_m
  from place
  cross join lateral (
    select * from hold_point_register h where h.drive_id = place.id and h.at_m >= place.low_m and h.at_m < place.high_m offset 0
  ) h
  left join hold_point_release r on r.hold_point_id = h.hold_point_id and r.withdrawn_at is null
  union all
  select 'inflow', i.from_chainage_m, i.to_chainage_m, i.name, i.method, null, i.inflow_l_per_min, 'l/min', i.measured_by, i.measured_at, i.remark, i.from_m,
    i.to_m
  from place join inflow i on i.drive_id = place.id and i.to_m > place.low_m and i.from_m < place.high_m
  union all
  select 'water_test', chainage_of_driven(place.start_chainage_m, place.direction, l.collar_m),
    chainage_of_driven(place.start_chainage_m, place.direction, l.collar_m), t.name,
    concat_ws(', ', 'hole ' || t.hole || ' ' || t.from_depth_m || ' to ' || t.to_depth_m || ' m',
    t.flow_pattern), t.lugeon_class, t.representative_lu, 'Lu', t.tested_by, t.tested_at, t.remark, l.collar_m, l.collar_m
  from place
  join water_test t on t.drive_id = place.id
  cross join lateral (
    select coalesce(l.collar_m, h.collar_m) as collar_m from lugeon_test l left join probe_hole h on h.drive_id = l.drive_id and h.name = l.hole
      where l.id = t.water_test_id
    offset 0
  ) l
  where l.collar_m >= place.low_m and l.collar_m < place.high_m
  union all
  select 'support_required', m.from_chainage_m, m.to_chainage_m, concat_ws(' ', m.item_code, m.zone, m.part), m.description, m.state, m.required, m.unit, null,
    null, case when m.missing > 0 then 'missing ' || m.missing end, m.from_m, m.to_m
  from missing_support_between(as_built_register.project, as_built_register.drive, as_built_register.from_chainage, as_built_register.to_chainage, null) m
  union all
  select 'attachment', f.from_chainage_m, f.to_chainage_m, f.digest, f.file_name, null, f.size_bytes, 'byte', f.uploaded_by, f.uploaded_at, f.caption, f.from_m,
    f.to_m
  from place join attachment f on f.drive_id = place.id and f.from_m < place.high_m and (f.to_m > place.low_m or f.from_m >= place.low_m);
end;

comment on function as_built_register(text, text, numeric, numeric) is
  'What the registers beside the shifts hold of a chainage interval [m], one row per record: class_decision, ground_log (Q to three digits; state: of its '
  'water; quantity: inflow), discontinuity, overbreak, probe_hole, investigation, indication (state: its outcome; quantity: its position error), encounter, '
  'hold_point (state: released, released_late, passed_unreleased or standing), inflow, water_test (at its collar, or that of the probe hole named; quantity: '
  'its representative value), support_required (quantity: what is required; remark: what is missing), attachment. as_built has what the shifts reported. '
  'Decision support: the designer, the responsible engineer on site and the local code decide.';
