-- What the geologist mapped over a length of the drive: one sheet a row. report.ground_log tells it with its place.
CREATE TABLE "ground_log_sheet" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "face_m" DECIMAL(9,3),
    "mapped_by" TEXT NOT NULL,
    "mapped_at" TIMESTAMPTZ(3) NOT NULL,
    "lithology" TEXT,
    "ucs_mpa" DOUBLE PRECISION,
    "point_load_mpa" DOUBLE PRECISION,
    "rqd_percent" DOUBLE PRECISION,
    "jv_per_m3" DOUBLE PRECISION,
    "joint_spacing_m" DOUBLE PRECISION,
    "water_inflow_l_per_min_per_10m" DOUBLE PRECISION,
    "water_pressure_ratio" DOUBLE PRECISION,
    "water_state" TEXT,
    "gsi" DECIMAL(4,1),
    "remark" TEXT,
    "q_edition" TEXT,
    "q_location" TEXT,
    "q_jn_row" TEXT,
    "q_jn" DECIMAL(7,3),
    "q_jr_row" TEXT,
    "q_jr" DECIMAL(7,3),
    "q_jr_spacing_above_3m" BOOLEAN,
    "q_ja_row" TEXT,
    "q_ja" DECIMAL(7,3),
    "q_jw_row" TEXT,
    "q_jw" DECIMAL(7,3),
    "q_srf_row" TEXT,
    "q_srf" DECIMAL(7,3),
    "rmr_edition" TEXT,
    "rmr_strength_by" TEXT,
    "rmr_condition" TEXT,
    "rmr_persistence_m" DOUBLE PRECISION,
    "rmr_aperture_mm" DOUBLE PRECISION,
    "rmr_roughness" TEXT,
    "rmr_infilling" TEXT,
    "rmr_weathering" TEXT,
    "rmr_groundwater_by" TEXT,
    "rmr_orientation" TEXT,
    "strength_class" TEXT,
    "q" DOUBLE PRECISION,
    "q_class" TEXT,
    "q_rqd_percent" DOUBLE PRECISION,
    "q_jn_counted" DOUBLE PRECISION,
    "q_jr_counted" DOUBLE PRECISION,
    "rmr_strength_rating" SMALLINT,
    "rmr_rqd_rating" SMALLINT,
    "rmr_spacing_rating" SMALLINT,
    "rmr_condition_rating" SMALLINT,
    "rmr_groundwater_rating" SMALLINT,
    "rmr_orientation_rating" SMALLINT,
    "rmr" SMALLINT,
    "rmr_class" TEXT,

    CONSTRAINT "ground_log_sheet_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "ground_log_sheet_drive_id_name_key" ON "ground_log_sheet"("drive_id", "name");
CREATE UNIQUE INDEX "ground_log_sheet_drive_id_from_m_key" ON "ground_log_sheet"("drive_id", "from_m");
ALTER TABLE "ground_log_sheet" ADD CONSTRAINT "ground_log_sheet_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Editions, rows and the ranges of their values are the service's to hold: the tables are data of its code.
ALTER TABLE ground_log_sheet
  ADD CONSTRAINT ground_log_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT ground_log_place CHECK (from_m >= 0 AND to_m > from_m AND face_m >= 0),
  ADD CONSTRAINT ground_log_mapped CHECK (mapped_by ~ '\S'),
  ADD CONSTRAINT ground_log_measures CHECK (
    ucs_mpa BETWEEN 0 AND 1000 AND point_load_mpa BETWEEN 0 AND 100 AND rqd_percent BETWEEN 0 AND 100 AND jv_per_m3 BETWEEN 0 AND 1000
    AND joint_spacing_m BETWEEN 0.001 AND 100 AND gsi BETWEEN 0 AND 100),
  ADD CONSTRAINT ground_log_water CHECK (
    water_inflow_l_per_min_per_10m BETWEEN 0 AND 1e6 AND water_pressure_ratio BETWEEN 0 AND 100
    AND water_state IN ('dry', 'damp', 'wet', 'dripping', 'flowing')),
  -- a rating is there whole, with all that it rests on, or not at all
  ADD CONSTRAINT ground_log_q_whole CHECK (
    num_nulls(q_edition, q_location, q_jn_row, q_jn, q_jr_row, q_jr, q_jr_spacing_above_3m, q_ja_row, q_ja, q_jw_row, q_jw, q_srf_row, q_srf,
      q, q_class, q_rqd_percent, q_jn_counted, q_jr_counted) IN (0, 18)
    AND (q IS NULL OR rqd_percent IS NOT NULL)),
  ADD CONSTRAINT ground_log_q_values CHECK (
    q_location IN ('normal', 'portal', 'intersection') AND q_jn > 0 AND q_jr > 0 AND q_ja > 0 AND q_jw > 0 AND q_srf > 0
    AND q > 0 AND q < 'Infinity' AND q_rqd_percent = greatest(rqd_percent, 10)),
  ADD CONSTRAINT ground_log_rmr_whole CHECK (
    num_nulls(rmr_edition, rmr_strength_by, rmr_groundwater_by, rmr_orientation, rmr_strength_rating, rmr_rqd_rating, rmr_spacing_rating,
      rmr_condition_rating, rmr_groundwater_rating, rmr_orientation_rating, rmr, rmr_class) IN (0, 12)
    AND (rmr IS NULL OR num_nulls(rqd_percent, joint_spacing_m) = 0)),
  ADD CONSTRAINT ground_log_rmr_strength CHECK (CASE rmr_strength_by
    WHEN 'ucs' THEN ucs_mpa IS NOT NULL WHEN 'point_load' THEN point_load_mpa IS NOT NULL ELSE rmr_strength_by IS NULL END),
  ADD CONSTRAINT ground_log_rmr_groundwater CHECK (CASE rmr_groundwater_by
    WHEN 'inflow' THEN water_inflow_l_per_min_per_10m IS NOT NULL WHEN 'pressure_ratio' THEN water_pressure_ratio IS NOT NULL
    WHEN 'state' THEN water_state IS NOT NULL ELSE rmr_groundwater_by IS NULL END),
  -- by the short table or by the detailed ones
  ADD CONSTRAINT ground_log_rmr_condition CHECK (
    num_nulls(rmr_persistence_m, rmr_aperture_mm, rmr_roughness, rmr_infilling, rmr_weathering)
      = CASE WHEN rmr IS NULL OR rmr_condition IS NOT NULL THEN 5 ELSE 0 END
    AND (rmr IS NOT NULL OR rmr_condition IS NULL) AND rmr_persistence_m >= 0 AND rmr_aperture_mm >= 0),
  ADD CONSTRAINT ground_log_rmr_sum CHECK (rmr = rmr_strength_rating + rmr_rqd_rating + rmr_spacing_rating + rmr_condition_rating
    + rmr_groundwater_rating + rmr_orientation_rating),
  ADD CONSTRAINT ground_log_once EXCLUDE USING gist (drive_id WITH =, numrange(from_m, to_m) WITH &&);

CREATE TRIGGER project_of_drive BEFORE INSERT ON ground_log_sheet
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

-- A log may come before the shift that bored its place, so only the ends of the drive bound it.
CREATE FUNCTION ground_log_within_drive() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := greatest(NEW.to_m, NEW.face_m);
BEGIN
  IF furthest > drive_length(NEW.drive_id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB001', CONSTRAINT = 'within_drive', TABLE = TG_TABLE_NAME,
      MESSAGE = format('%s lies beyond the end of the drive at %s', chainage_at(NEW.drive_id, furthest),
        chainage_at(NEW.drive_id, drive_length(NEW.drive_id)));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON ground_log_sheet FOR EACH ROW EXECUTE FUNCTION ground_log_within_drive();

-- A drive with ground logs keeps its start and direction, by which their chainages are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_ground_logs() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(greatest(to_m, face_m)) FROM ground_log_sheet WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has ground logs';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_ground_log', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, which a ground log reaches', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_ground_logs AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_ground_logs();

SELECT hold_to_scope('ground_log_sheet'), history.keep('ground_log_sheet');
