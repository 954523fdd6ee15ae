/**
 * SQL of a project with rows in every table. Its drive has the project's own id; the ids of the other rows are that id × 100 and
 * following. Its shift is on that day of March 2027, and a draft two days later leaves the shift between them unposted; its member,
 * key and texts contain its code.
 */
export const wholeRecord = (id: number, code: string): string => {
  const n = id * 100;
  const day = `2027-03-0${id}`;
  /** for records that count from when they were measured or encountered */
  const past = `2024-03-0${id}`;
  return `
  insert into project (id, code, name, time_zone, day_start, currency) values (${id}, '${code}', 'Site ${code}', 'UTC', '06:00', 'EUR');
  insert into working_zone (id, project_id, code, name) values (${n + 50}, ${id}, 'Z-${code}', 'Zone of ${code}');
  insert into acceptance_rule (id, project_id, valid_from, days, clause) values (${n}, ${id}, '2020-01-0${id}', 14, 'Clause 12.1 of ${code}');
  insert into calendar_shift (id, project_id, name, start_time, end_time, weekdays) values (${n}, ${id}, 'day', '06:00', '18:00', '{1,2,3}');
  insert into activity_code (id, project_id, code, description, counts_as) values (${n}, ${id}, 'BORE', 'Boring', 'boring'), (${n + 1}, ${id}, 'STOP', 'Stop', 'waiting'),
    (${n + 2}, ${id}, 'FAIL', 'Breakdown', 'breakdown');
  insert into equipment (id, project_id, code, description) values (${n}, ${id}, 'BELT', 'Belt of ${code}');
  insert into ground_class (id, project_id, code, description) values (${n}, ${id}, 'A', 'Good');
  insert into support_item (id, project_id, code, kind, unit, description) values (${n}, ${id}, 'BOLT', 'bolt', 'nr', 'Bolt');
  insert into machine (id, project_id, code, name, disc_count, disc_radius_mm, stroke_length_m) values (${n}, ${id}, 'M', 'Machine ${code}', 50, 241.3, 1.7);
  insert into machine_revision (id, project_id, machine_id, valid_from, revision, disc_count, disc_radius_mm)
    values (${n}, ${id}, ${n}, '2027-08-0${id}', 'B of ${code}', 48, 241.3);
  insert into drive (id, project_id, code, name, machine_id, start_chainage_m, end_chainage_m, direction, bored_diameter_m)
    values (${id}, ${id}, 'N', 'North ${code}', ${n}, 1000, 2000, 1, 7);
  insert into notice_rule (id, project_id, code, name, days, clause) values (${n}, ${id}, 'CLAIM-${code}', 'Claim of ${code}', 28, 'Clause 20.2.1');
  insert into contract_notice (id, project_id, drive_id, code, notice_rule_id, happened_at, concerns)
    values (${n}, ${id}, ${id}, 'N-${code}', ${n}, '${day} 08:00Z', 'Wet zone of ${code}');
  insert into site_closure (id, project_id, drive_id, code, name, from_date, to_date, planned)
    values (${n}, ${id}, ${id}, 'BREAK', 'Break of ${code}', '2027-08-02', '2027-08-06', true);
  insert into shift (id, project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
    values (${n}, ${id}, ${id}, '${day}', ${n}, '${day} 06:00Z', '${day} 18:00Z', 'submitted', '${code}'),
    (${n + 1}, ${id}, ${id}, date '${day}' + 2, ${n}, timestamptz '${day} 06:00Z' + interval '2 days', timestamptz '${day} 18:00Z' + interval '2 days', 'draft', 'later of ${code}');
  insert into boring (id, project_id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at) values
    (${n}, ${id}, ${id}, ${n}, 1, 0, 10, '${day} 06:00Z', '${day} 08:00Z'), (${n + 1}, ${id}, ${id}, null, 2, 20, 30, null, null);
  insert into activity (id, project_id, drive_id, shift_id, started_at, ended_at, activity_code_id, equipment_id) values
    (${n}, ${id}, ${id}, ${n}, '${day} 06:00Z', '${day} 08:00Z', ${n}, ${n}), (${n + 1}, ${id}, ${id}, ${n}, '${day} 08:00Z', '${day} 17:00Z', ${n + 1}, ${n}),
    (${n + 2}, ${id}, ${id}, ${n}, '${day} 17:00Z', '${day} 18:00Z', ${n + 2}, ${n});
  insert into ground_interval (id, project_id, drive_id, shift_id, from_m, to_m, ground_class_id) values (${n}, ${id}, ${id}, ${n}, 0, 10, ${n});
  insert into support_installed (id, project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
    values (${n}, ${id}, ${id}, ${n}, 1, ${n}, 'nr', 'Z-${code}', 0, 10, 8);
  insert into doubt_limit (id, project_id, valid_from, most_rate_m_per_h) values (${n}, ${id}, '2027-01-0${id}', 4);
  insert into doubt_limit_item (id, project_id, doubt_limit_id, support_item_id, unit, most_per_m) values (${n}, ${id}, ${n}, ${n}, 'nr', 40);
  insert into shift_confirmation (id, project_id, drive_id, shift_id, line, doubt, reason)
    values (${n}, ${id}, ${id}, ${n}, 1, 'stroke_longer_than_machine', 'Two strokes of ${code} under one number');
  insert into probe_hole (id, project_id, drive_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m)
    values (${n}, ${id}, ${id}, 'H-${code}', 29, 5, 30, 29.886, 2.615);
  insert into inflow_measurement (id, project_id, drive_id, name, place, from_m, to_m, hole, method, measured_at, flow_l_per_min) values
    (${n}, ${id}, ${id}, 'W-${code}', 'interval', 0, 10, null, 'bucket', '${past} 10:00Z', 4),
    (${n + 1}, ${id}, ${id}, 'WH-${code}', 'hole', null, null, 'H-${code}', 'bucket', '${past} 10:00Z', 2);
  insert into water_limit (id, project_id, drive_id, valid_from, per_100m_l_per_min, pumping_l_per_min, remark)
    values (${n}, ${id}, ${id}, '2024-01-0${id}', 30, 2000, 'of ${code}');
  insert into hold_point (id, project_id, drive_id, code, at_m, reason, side, role)
    values (${n}, ${id}, ${id}, 'HP-${code}', 200, 'Fault zone of ${code}', 'client', 'Geologist of ${code}');
  insert into hold_point_release (id, project_id, drive_id, hold_point_id, released_at, evidence)
    values (${n}, ${id}, ${id}, ${n}, '2024-03-01 08:00Z', 'Cored hole of ${code}');
  insert into probe_log (id, project_id, drive_id, probe_hole_id, from_m, to_m, rock, water_inflow_l_per_min)
    values (${n}, ${id}, ${id}, ${n}, 0, 30, 'rock of ${code}', 1);
  insert into probe_requirement (id, project_id, drive_id, name, hole_count, overlap_m) values (${n}, ${id}, ${id}, 'R-${code}', 2, 8);
  insert into lugeon_test (id, project_id, drive_id, name, hole, from_depth_m, to_depth_m, static_bar, groundwater_bar, tested_at, representative_lu, lugeon_class)
    values (${n}, ${id}, ${id}, 'WT-${code}', 'H-${code}', 10, 13, 0, 0, '${past} 11:00Z', 12, 'moderate');
  insert into lugeon_step (id, project_id, lugeon_test_id, number, gauge_bar, friction_bar, flow_l_per_min, duration_min, net_bar, lugeon)
    values (${n}, ${id}, ${n}, 1, 5, 0, 18, 10, 5, 12);
  insert into grout_round (id, project_id, drive_id, name, purpose, state, from_m, to_m, started_at, ended_at, control_holes, remark)
    values (${n}, ${id}, ${id}, 'GR-${code}', 'pre_grouting', 'complete', 10, 30, '${past} 12:00Z', '${past} 16:00Z', '{H-${code}}', 'of ${code}');
  insert into grout_hole (id, project_id, drive_id, grout_round_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m)
    values (${n}, ${id}, ${id}, ${n}, 'GH-${code}', 10, 5, 20, 19.924, 1.743);
  insert into grout_mix (id, project_id, drive_id, grout_hole_id, number, material, water_cement_ratio, mass_kg, volume_l)
    values (${n}, ${id}, ${id}, ${n}, 1, 'cement of ${code}', 1, 500, 660);
  insert into alert_rule (id, project_id, drive_id, code, kind, threshold, remark)
    values (${n}, ${id}, ${id}, 'AR-${code}', 'cover_below', 900000, 'of ${code}');
  insert into alert (id, project_id, drive_id, number, kind, rule, subject, value, limit_value, unit, text, raised_at, raised_by,
      acknowledged_at, acknowledged_by, acknowledgement, cleared_at, cleared_by, clearance)
    values (${n}, ${id}, ${id}, 1, 'class_decision_open', 'OLD-${code}', '9', 11, 10, 'd', 'of ${code}', '2024-03-01 11:00Z', 'clock of ${code}',
      '2024-03-01 12:00Z', 'engineer of ${code}', 'Seen in ${code}', '2024-03-02 12:00Z', 'clock of ${code}', 'ended');
  select make_sample_month('2027-03-01');
  insert into machine_sample (project_id, drive_id, at, position_m, thrust_kn) values
    (${id}, ${id}, '${day} 06:30Z', 2.5, 9000), (${id}, ${id}, '${day} 09:00Z', 10, 0);
  insert into stroke_proposal (id, project_id, drive_id, number, from_at, to_at, sample_count, thresholds, borings, regrips, remarks, digest)
    values (${n}, ${id}, ${id}, ${id}, '${day} 06:00Z', '${day} 18:00Z', 2, '{}', '[{"stroke": 1, "fromM": "0", "toM": "10"}]', '[]', '[]', '${code}');
  insert into programme_point (id, project_id, drive_id, programme, planned_day, planned_m)
    values (${n}, ${id}, ${id}, 'plan-${code}', '${day}', 5), (${n + 1}, ${id}, ${id}, 'plan-${code}', '2027-03-20', 800);
  insert into class_decision (id, project_id, drive_id, number, from_m, to_m, ground_class_id) values (${n}, ${id}, ${id}, ${id}, 5, 15, ${n});
  insert into baseline (id, project_id, drive_id, name, working_hours_per_day) values (${n}, ${id}, ${id}, 'base-${code}', 20);
  insert into baseline_interval (id, project_id, baseline_id, from_m, to_m, ground_class_id, advance_rate_m_per_d)
    values (${n}, ${id}, ${n}, 0, 400, ${n}, 15), (${n + 1}, ${id}, ${n}, 400, 1000, ${n}, 12);
  insert into entitlement (id, project_id, drive_id, name, rule, baseline_id, tendered_weeks, working_hours_per_week)
    values (${n}, ${id}, ${id}, 'time-${code}', 'difference', ${n}, 52, 100);
  insert into entitlement_item (id, project_id, entitlement_id, line, code, source, reference, hours_per_unit, tendered_quantity)
    values (${n}, ${id}, ${n}, 1, 'time-${code}', ${id === 1 ? `'support_item', 'BOLT'` : `'activity_hours', 'STOP'`}, 0.12, 10);
  insert into ground_log_sheet (id, project_id, drive_id, name, from_m, to_m, mapped_by, mapped_at)
    values (${n}, ${id}, ${id}, 'GL-${code}', 0, 10, 'geologist of ${code}', '${day} 12:00Z');
  insert into bill (id, project_id, drive_id, version, valid_from, currency, minor_units) values (${n}, ${id}, ${id}, 'bill-${code}', '${day}', 'EUR', 2);
  insert into pay_item (id, project_id, drive_id, bill_id, reference, position, description, unit, decimals, quantity, rate)
    values (${n}, ${id}, ${id}, ${n}, 'T.1-${code}', 1, 'Item of ${code}', 'm3', 1, 10.5, 2.25);
  insert into discontinuity (id, project_id, drive_id, name, at_m, type, dip_deg, dip_direction_deg, set_label, remark, pole_east, pole_north, pole_down, spacing_m)
    values (${n}, ${id}, ${id}, 'D-${code}', 5, 'joint', 0, 0, 'J1', 'of ${code}', 0, 0, 1, 0.4);
  insert into overbreak_item (id, project_id, drive_id, name, from_m, to_m, cause, volume_m3, volume_surveyed)
    values (${n}, ${id}, ${id}, 'O-${code}', 2, 4, 'geological', 1.5, true);
  insert into investigation (id, project_id, drive_id, name, method, from_m, to_m, face_m, made_at, made_by)
    values (${n}, ${id}, ${id}, 'V-${code}', 'reflection_seismic', 0, 40, 0, '${past} 00:00Z', 'surveyor of ${code}');
  insert into indication (id, project_id, investigation_id, key, kind, from_m, to_m, from_uncertainty_m, to_uncertainty_m)
    values (${n}, ${id}, ${n}, 'I-${code}', 'fractured', 4, 6, 1, 1);
  insert into encounter (id, project_id, drive_id, name, kind, from_m, to_m, source, met_at, met_by)
    values (${n}, ${id}, ${id}, 'E-${code}', 'fractured', 5, 7, 'boring', '${past} 12:00Z', 'geologist of ${code}');
  insert into attached_file (id, project_id, drive_id, number, digest, file_name, media_type, size_bytes, from_m, to_m)
    values (${n}, ${id}, ${id}, ${id}, encode(sha256('photo of ${code}'), 'hex'), 'face of ${code}.jpg', 'image/jpeg', 3, 10, 10);
  insert into measurement_rule (id, project_id, drive_id, pay_item_id, source, dimension) values (${n}, ${id}, ${id}, ${n}, 'advance', 'volume');
  insert into lump_progress (id, project_id, drive_id, reference, day, percent) values (${n}, ${id}, ${id}, 'L-${code}', '${day}', 40);
  insert into quantity_dispute (id, project_id, drive_id, number, reference, source_key, reason)
    values (${n}, ${id}, ${id}, ${id}, 'T.1-${code}', 'record of ${code}', 'why');
  insert into valuation (id, project_id, drive_id, number, cut_off) values (${n + 1}, ${id}, ${id}, 1, '2027-02-01');
  select set_config('drivebook.actor', 'first of ${code}', true);
  update valuation set state = 'agreed', digest = repeat('0', 64) where id = ${n + 1};
  insert into certified_line (id, project_id, drive_id, valuation_id, pay_item_id, exact_quantity, base_per_unit, previous_quantity, quantity, to_date_quantity,
    held_quantity, previous_amount, amount, to_date_amount, source_count, digest)
    values (${n}, ${id}, ${id}, ${n + 1}, ${n}, 5, 1, 0, 5, 5, 0, 0, 11.25, 11.25, 1, repeat('0', 64));
  insert into certified_source (project_id, drive_id, valuation_id, pay_item_id, reference, source, source_key, class_code, sequence, previous_quantity, quantity,
    to_date_quantity) values (${id}, ${id}, ${n + 1}, ${n}, 'T.1-${code}', 'advance', 'record of ${code}', '', 1, 0, 5, 5);
  select set_config('drivebook.actor', 'second of ${code}', true);
  update valuation set state = 'certified', measured_change = 1 where id = ${n + 1};
  insert into valuation (id, project_id, drive_id, number, cut_off) values (${n}, ${id}, ${id}, 2, '${day}');
  insert into standard_support (id, project_id, ground_class_id, edition, revision, valid_from)
    values (${n}, ${id}, ${n}, 'drawing of ${code}', 'of ${code}', '2027-02-0${id}');
  insert into standard_support_item (id, project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m)
    values (${n}, ${id}, ${n}, ${n}, 'nr', 'Z-${code}', 1);
  insert into design_section (id, project_id, drive_id, name, from_m, to_m, edition) values (${n}, ${id}, ${id}, 'S-${code}', 5, 8, 'drawing of ${code}');
  insert into design_section_item (id, project_id, design_section_id, support_item_id, unit, zone, quantity_per_m)
    values (${n}, ${id}, ${n}, ${n}, 'nr', 'Z-${code}', 2);
  insert into drive_support_limit (id, project_id, drive_id, zone, limit_m) values (${n}, ${id}, ${id}, 'Z-${code}', 4);
  insert into party (id, project_id, code, name, kind, side) values (${n}, ${id}, 'C', 'Contractor of ${code}', 'contractor', 'contractor');
  insert into party_member (id, project_id, subject, party_id) values (${n}, ${id}, 'poster of ${code}', ${n});
  insert into member (id, project_id, subject, role) values (${n}, ${id}, 'poster of ${code}', 'shift_poster');
  insert into api_key (id, project_id, name, prefix, hash, scopes, created_by, expires_at)
    values (${n}, ${id}, 'loader-${code}', 'key of ${code}', sha256('${code}'), '{shift.write}', 'office of ${code}', now() + interval '1 day');
  insert into bi_grant (id, project_id, login, granted_by) values (${n}, ${id}, lower('bi_of_${code}'), 'owner of ${code}');
  insert into idempotency_key (project_id, actor, route, key, fingerprint, request, status, headers)
    values (${id}, 'poster of ${code}', 'POST /v1', 'key of ${code}', repeat('0', 64), 'request of ${code}', 200, '{}');
  insert into webhook_endpoint (id, project_id, name, url, types, enabled, secret_made_at)
    values (${n}, ${id}, 'WH-${code}', 'https://board.example/${code}', '{alert.raised}', false, '${past} 10:00Z');
  insert into webhook_secret (id, project_id, endpoint_id, salt, fingerprint) values (${n}, ${id}, ${n}, sha256('salt of ${code}'), 'print of ${code}');
  insert into outgoing_message (id, project_id, type, occurred_at, body) values (${n}, ${id}, 'alert.raised', '${past} 12:00Z', '{"code": "${code}"}');
  insert into webhook_delivery (id, project_id, endpoint_id, message_id, state, next_at, attempts, last_at, last_status)
    values (${n}, ${id}, ${n}, ${n}, 'dead', null, 10, '${past} 18:00Z', 500);
  insert into job (id, project_id, kind, state, percent, asked_by, asked_at, started_at, ended_at, problem, kept_until)
    values (${n}, ${id}, 'handover', 'failed', 40, 'office of ${code}', '${past} 10:00Z', '${past} 10:00Z', '${past} 10:05Z', 'of ${code}', '2099-01-01 00:00Z');
  insert into api_key_use (prefix, last_used_at) values ('key of ${code}', now());
`;
};
