-- What the published methods ask for beside a row of their tables: adjustments by name, the range of each input, the
-- orientation that R6 is proposed from, and the frequency of joints along a line. Values of standing logs stay as they are;
-- those that are new and follow from their inputs are filled by `drivebook recompute`.
ALTER TABLE "ground_log_sheet" ADD COLUMN "joint_frequency_per_m" DOUBLE PRECISION,
  ADD COLUMN "drive_azimuth_deg" DOUBLE PRECISION,
  ADD COLUMN "joint_dip_deg" DOUBLE PRECISION,
  ADD COLUMN "joint_dip_direction_deg" DOUBLE PRECISION,
  ADD COLUMN "orientation_proposal" JSONB,
  ADD COLUMN "q_jw_adjustment" JSONB,
  ADD COLUMN "q_jw_counted" DOUBLE PRECISION,
  ADD COLUMN "q_srf_adjustment" JSONB,
  ADD COLUMN "q_srf_counted" DOUBLE PRECISION,
  ADD COLUMN "q_range" JSONB,
  ADD COLUMN "q_lowest" DOUBLE PRECISION,
  ADD COLUMN "q_lowest_class" TEXT,
  ADD COLUMN "q_lowest_of" JSONB,
  ADD COLUMN "q_highest" DOUBLE PRECISION,
  ADD COLUMN "q_highest_class" TEXT,
  ADD COLUMN "q_highest_of" JSONB;

ALTER TABLE ground_log_sheet
  ADD CONSTRAINT ground_log_frequency CHECK (joint_frequency_per_m BETWEEN 0 AND 1000),
  -- the orientation is there whole or not at all
  ADD CONSTRAINT ground_log_orientation CHECK (
    num_nulls(drive_azimuth_deg, joint_dip_deg, joint_dip_direction_deg) IN (0, 3)
    AND drive_azimuth_deg >= 0 AND drive_azimuth_deg < 360 AND joint_dip_deg BETWEEN 0 AND 90
    AND joint_dip_direction_deg >= 0 AND joint_dip_direction_deg < 360
    AND (orientation_proposal IS NULL OR joint_dip_deg IS NOT NULL)),
  -- an adjustment has its name and its note; nothing is adjusted without one
  ADD CONSTRAINT ground_log_q_adjusted CHECK (
    (q IS NOT NULL OR num_nulls(q_jw_adjustment, q_jw_counted, q_srf_adjustment, q_srf_counted) = 4)
    AND (q_jw_adjustment IS NOT NULL OR q_jw_counted = q_jw) AND (q_srf_adjustment IS NOT NULL OR q_srf_counted = q_srf)
    AND (q_jw_adjustment IS NULL OR (q_jw_counted > 0 AND q_jw_adjustment ->> 'note' ~ '\S' AND q_jw_adjustment ? 'name') IS TRUE)
    AND (q_srf_adjustment IS NULL OR (q_srf_counted > 0 AND q_srf_adjustment ->> 'note' ~ '\S' AND q_srf_adjustment ? 'name') IS TRUE)),
  ADD CONSTRAINT ground_log_q_range CHECK (
    num_nulls(q_range, q_lowest, q_lowest_class, q_lowest_of, q_highest, q_highest_class, q_highest_of) IN (0, 7)
    AND (q IS NOT NULL OR q_range IS NULL) AND q_lowest > 0 AND q_highest < 'Infinity' AND q_lowest <= q AND q <= q_highest);

ALTER TABLE history.ground_log_sheet ADD COLUMN joint_frequency_per_m DOUBLE PRECISION,
  ADD COLUMN drive_azimuth_deg DOUBLE PRECISION,
  ADD COLUMN joint_dip_deg DOUBLE PRECISION,
  ADD COLUMN joint_dip_direction_deg DOUBLE PRECISION,
  ADD COLUMN orientation_proposal JSONB,
  ADD COLUMN q_jw_adjustment JSONB,
  ADD COLUMN q_jw_counted DOUBLE PRECISION,
  ADD COLUMN q_srf_adjustment JSONB,
  ADD COLUMN q_srf_counted DOUBLE PRECISION,
  ADD COLUMN q_range JSONB,
  ADD COLUMN q_lowest DOUBLE PRECISION,
  ADD COLUMN q_lowest_class TEXT,
  ADD COLUMN q_lowest_of JSONB,
  ADD COLUMN q_highest DOUBLE PRECISION,
  ADD COLUMN q_highest_class TEXT,
  ADD COLUMN q_highest_of JSONB;
SELECT history.keep('ground_log_sheet');
