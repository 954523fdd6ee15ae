-- What is unlikely in the record is doubted: by limits that are dated data of the project, until whoever submits a shift confirms it with a reason.

CREATE TABLE "doubt_limit" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "valid_from" DATE NOT NULL,
    "ahead_of_face_m" DECIMAL(9,3),
    "stroke_length_m" DECIMAL(6,3),
    "over_rating_percent" DECIMAL(5,2),
    "least_thrust_kn" DECIMAL(10,3),
    "most_thrust_kn" DECIMAL(10,3),
    "least_torque_knm" DECIMAL(10,3),
    "most_torque_knm" DECIMAL(10,3),
    "least_rate_m_per_h" DECIMAL(7,3),
    "most_rate_m_per_h" DECIMAL(7,3),

    CONSTRAINT "doubt_limit_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "doubt_limit_item" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "doubt_limit_id" INTEGER NOT NULL,
    "support_item_id" INTEGER NOT NULL,
    "unit" "support_unit" NOT NULL,
    "most_per_m" DECIMAL(12,3) NOT NULL,

    CONSTRAINT "doubt_limit_item_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "shift_confirmation" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "shift_id" INTEGER NOT NULL,
    "line" INTEGER NOT NULL,
    "doubt" TEXT NOT NULL,
    "from_m" DECIMAL(9,3),
    "reason" TEXT NOT NULL,
    "confirmed_by" TEXT NOT NULL DEFAULT acting_subject(),
    "confirmed_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "shift_confirmation_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "doubt_limit_project_id_valid_from_key" ON "doubt_limit"("project_id", "valid_from");
CREATE UNIQUE INDEX "doubt_limit_id_project_id_key" ON "doubt_limit"("id", "project_id");
CREATE UNIQUE INDEX "doubt_limit_item_doubt_limit_id_support_item_id_key" ON "doubt_limit_item"("doubt_limit_id", "support_item_id");
CREATE INDEX "doubt_limit_item_support_item_id_unit_idx" ON "doubt_limit_item"("support_item_id", "unit");
CREATE UNIQUE INDEX "shift_confirmation_shift_id_line_key" ON "shift_confirmation"("shift_id", "line");

ALTER TABLE "doubt_limit" ADD CONSTRAINT "doubt_limit_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "doubt_limit_item" ADD CONSTRAINT "doubt_limit_item_doubt_limit_id_project_id_fkey" FOREIGN KEY ("doubt_limit_id", "project_id") REFERENCES "doubt_limit"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "doubt_limit_item" ADD CONSTRAINT "doubt_limit_item_support_item_id_unit_project_id_fkey" FOREIGN KEY ("support_item_id", "unit", "project_id") REFERENCES "support_item"("id", "unit", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "shift_confirmation" ADD CONSTRAINT "shift_confirmation_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "shift_confirmation" ADD CONSTRAINT "shift_confirmation_shift_id_project_id_fkey" FOREIGN KEY ("shift_id", "project_id") REFERENCES "shift"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE doubt_limit
  ADD CONSTRAINT doubt_limit_from_zero CHECK (ahead_of_face_m >= 0 AND stroke_length_m > 0 AND over_rating_percent >= 0 AND least_thrust_kn >= 0
    AND least_torque_knm >= 0 AND least_rate_m_per_h >= 0),
  ADD CONSTRAINT doubt_limit_in_order CHECK (most_thrust_kn > least_thrust_kn AND most_torque_knm > least_torque_knm AND most_rate_m_per_h > least_rate_m_per_h);
ALTER TABLE doubt_limit_item ADD CONSTRAINT doubt_limit_item_most CHECK (most_per_m > 0);
ALTER TABLE shift_confirmation
  ADD CONSTRAINT shift_confirmation_doubt CHECK (doubt ~ '^[a-z_]{1,40}$'),
  ADD CONSTRAINT shift_confirmation_place CHECK (from_m >= 0),
  ADD CONSTRAINT shift_confirmation_reason CHECK (reason ~ '\S');
CREATE FUNCTION shift_confirmed() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  NEW.confirmed_by := acting_subject();
  NEW.confirmed_at := clock_timestamp();
  RETURN NEW;
END $$;
CREATE TRIGGER shift_confirmed BEFORE INSERT OR UPDATE ON shift_confirmation FOR EACH ROW EXECUTE FUNCTION shift_confirmed();
CREATE TRIGGER hold_countersigned BEFORE INSERT OR UPDATE OR DELETE ON shift_confirmation FOR EACH ROW EXECUTE FUNCTION hold_countersigned();

COMMENT ON TABLE doubt_limit IS 'From a date on: beyond which figures a record is doubted. Null: the default of view doubt_limit_in_force.';
COMMENT ON TABLE doubt_limit_item IS 'Of a support item: the most per metre that is not doubted.';
COMMENT ON TABLE shift_confirmation IS 'A doubt about a shift that its writer confirms, with the reason. It is of the version of the shift, and goes with it.';
COMMENT ON COLUMN shift_confirmation.from_m IS 'Where what is doubted begins, driven metres; null: wherever in the shift. [m]';

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['doubt_limit', 'doubt_limit_item', 'shift_confirmation']) t;
