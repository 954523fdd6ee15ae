-- One row per ground log: the mapping of the geologist, and the ratings with all their inputs.
create or replace view ground_log as
select
  p.code as project_code,
  d.code as drive_code,
  l.name,
  chainage_of_driven(d.start_chainage_m, d.direction, l.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, l.to_m) as to_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, l.face_m) as face_chainage_m,
  l.from_m,
  l.to_m,
  l.to_m - l.from_m as length_m,
  l.mapped_by,
  l.mapped_at,
  l.lithology,
  l.ucs_mpa,
  l.strength_class,
  l.point_load_mpa,
  l.rqd_percent,
  l.jv_per_m3,
  l.joint_spacing_m,
  l.water_inflow_l_per_min_per_10m,
  l.water_pressure_ratio,
  l.water_state,
  l.q_edition,
  l.q_location,
  l.q_jn_row,
  trim_scale(l.q_jn) as q_jn,
  l.q_jr_row,
  trim_scale(l.q_jr) as q_jr,
  l.q_jr_spacing_above_3m,
  l.q_ja_row,
  trim_scale(l.q_ja) as q_ja,
  l.q_jw_row,
  trim_scale(l.q_jw) as q_jw,
  l.q_srf_row,
  trim_scale(l.q_srf) as q_srf,
  l.q_rqd_percent,
  l.q_jn_counted,
  l.q_jr_counted,
  l.q,
  l.q_class,
  l.rmr_edition,
  l.rmr_strength_by,
  l.rmr_condition,
  l.rmr_persistence_m,
  l.rmr_aperture_mm,
  l.rmr_roughness,
  l.rmr_infilling,
  l.rmr_weathering,
  l.rmr_groundwater_by,
  l.rmr_orientation,
  l.rmr_strength_rating,
  l.rmr_rqd_rating,
  l.rmr_spacing_rating,
  l.rmr_condition_rating,
  l.rmr_groundwater_rating,
  l.rmr_orientation_rating,
  l.rmr,
  l.rmr_class,
  l.gsi,
  l.remark,
  l.drive_id,
  l.joint_frequency_per_m,
  l.drive_azimuth_deg,
  l.joint_dip_deg,
  l.joint_dip_direction_deg,
  l.orientation_proposal ->> 'orientation' as orientation_proposed,
  (l.orientation_proposal ->> 'rating')::int as orientation_proposed_rating,
  l.orientation_proposal,
  l.q_jw_adjustment,
  coalesce(l.q_jw_counted, l.q_jw::float8) as q_jw_counted,
  l.q_srf_adjustment,
  coalesce(l.q_srf_counted, l.q_srf::float8) as q_srf_counted,
  l.q_range,
  l.q_lowest,
  l.q_lowest_class,
  l.q_lowest_of,
  l.q_highest,
  l.q_highest_class,
  l.q_highest_of,
  l.rmr - l.rmr_orientation_rating as rmr_without_orientation,
  coalesce(l.mapped_place, 'face') as mapped_place,
  l.mapped_for,
  l.ruling_state as governing_state,
  l.ruling_reason as governing_reason,
  l.ruling_proposed_by as governing_proposed_by,
  l.ruling_proposed_at as governing_proposed_at,
  l.ruling_agreed_by as governing_agreed_by,
  l.ruling_agreed_at as governing_agreed_at,
  l.ruling_proposed_for as governing_proposed_for,
  l.ruling_agreed_for as governing_agreed_for
from ground_log_sheet l
join drive d on d.id = l.drive_id
join project p on p.id = d.project_id;

comment on view ground_log is
  'One row per ground log: place, what was measured and seen, and its ratings by Q and RMR, each with its inputs and edition; either may be absent.';
comment on column ground_log.face_chainage_m is 'Position of the face when it was mapped. [m]';
comment on column ground_log.ucs_mpa is 'Uniaxial compressive strength of the intact rock. [MPa]';
comment on column ground_log.strength_class is 'Class of that strength by ISRM 1978, R0 to R6.';
comment on column ground_log.point_load_mpa is 'Point load index Is(50). [MPa]';
comment on column ground_log.rqd_percent is 'Rock quality designation as recorded. [%]';
comment on column ground_log.jv_per_m3 is 'Volumetric joint count. [1/m3]';
comment on column ground_log.joint_spacing_m is 'Mean spacing of the joints. [m]';
comment on column ground_log.water_inflow_l_per_min_per_10m is 'Inflow per 10 m of tunnel. [l/min]';
comment on column ground_log.water_pressure_ratio is 'Joint water pressure over major principal stress.';
comment on column ground_log.q_edition is 'Edition of the tables that Q was rated by.';
comment on column ground_log.q_jn is 'Jn of its row, before it counts twice at a portal or three times at an intersection.';
comment on column ground_log.q_jr is 'Jr of its row, before 1 is added for a spacing above 3 m.';
comment on column ground_log.q_rqd_percent is 'RQD as it counts in Q: 10 where it was less. [%]';
comment on column ground_log.q_jn_counted is 'Jn as it counts in Q.';
comment on column ground_log.q_jr_counted is 'Jr as it counts in Q.';
comment on column ground_log.q is 'Rock mass quality Q, computed on write.';
comment on column ground_log.q_class is 'Class of Q; the lower bound is in the class.';
comment on column ground_log.rmr_edition is 'Edition of the tables that RMR was rated by.';
comment on column ground_log.rmr_condition is 'Row of the short table of joint condition; without it the detailed tables were used.';
comment on column ground_log.rmr is 'Rock Mass Rating, the sum of its six ratings, computed on write.';
comment on column ground_log.rmr_class is 'Class of RMR, I to V.';
comment on column ground_log.gsi is 'Geological Strength Index as observed, never computed.';
comment on column ground_log.joint_frequency_per_m is 'All joints per metre, counted along a line. [1/m]';
comment on column ground_log.drive_azimuth_deg is 'Azimuth of the drive there, in its direction. [deg]';
comment on column ground_log.joint_dip_deg is 'Dip of the governing joints. [deg]';
comment on column ground_log.joint_dip_direction_deg is 'Azimuth of their dip. [deg]';
comment on column ground_log.orientation_proposed is 'Row of R6 that dip, dip direction and azimuth propose; rmr_orientation counts.';
comment on column ground_log.orientation_proposed_rating is 'Its rating.';
comment on column ground_log.orientation_proposal is 'The proposal with edition, row of strike and dip, and angle of strike and axis [deg].';
comment on column ground_log.q_jw_adjustment is 'Adjustment of Jw that the log names, with its note; null: none.';
comment on column ground_log.q_jw_counted is 'Jw as it counts in Q.';
comment on column ground_log.q_srf_adjustment is 'Adjustment of SRF that the log names, with its note; null: none.';
comment on column ground_log.q_srf_counted is 'SRF as it counts in Q.';
comment on column ground_log.q_range is 'Least and greatest of the inputs of Q, as far as the log says them.';
comment on column ground_log.q_lowest is 'Q with the unfavourable ends of all inputs; null where no range was given.';
comment on column ground_log.q_lowest_of is 'The inputs of it, as they counted.';
comment on column ground_log.q_highest is 'Q with the favourable ends of all inputs.';
comment on column ground_log.q_highest_of is 'The inputs of it, as they counted.';
comment on column ground_log.rmr_without_orientation is 'RMR with R6 = 0, which correlations with Q use.';
comment on column ground_log.mapped_place is
  'Face of the opening that it maps: face, crown, left_wall, right_wall, invert or full_section; left and right looking ahead.';
comment on column ground_log.mapped_for is 'Party that it was mapped for: contractor, supervisor, client or designer; null: not said.';
comment on column ground_log.governing_state is 'proposed or agreed as the governing log of its place; null: neither.';
comment on column ground_log.governing_reason is 'Why it was proposed.';
comment on column ground_log.governing_proposed_for is
  'For which party, as JSON: code, name, kind, side at that moment; so governing_agreed_for. Null: not recorded.';
