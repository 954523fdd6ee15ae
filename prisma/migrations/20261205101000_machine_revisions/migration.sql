-- The data of a machine are dated: what stands in machine is valid from the beginning, each row here from its date until that of
-- the next. A boring is valued by the data in force when it was bored.

ALTER TABLE "machine" ADD COLUMN "revision" TEXT;

CREATE TABLE "machine_revision" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "machine_id" INTEGER NOT NULL,
    "valid_from" DATE NOT NULL,
    "revision" TEXT,
    "disc_count" INTEGER NOT NULL,
    "disc_radius_mm" DECIMAL(7,3) NOT NULL,
    "rated_disc_load_kn" DECIMAL(9,3),
    "stroke_length_m" DECIMAL(6,3),
    "installed_power_kw" DECIMAL(9,3),
    "rated_thrust_kn" DECIMAL(10,3),
    "rated_torque_knm" DECIMAL(10,3),
    "friction_kn" DECIMAL(10,3),
    "idle_torque_knm" DECIMAL(10,3),
    "torque_ratio_lower" DECIMAL(6,4),
    "torque_ratio_upper" DECIMAL(6,4),
    "belt_capacity_t_per_h" DECIMAL(9,3),

    CONSTRAINT "machine_revision_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "machine_revision_machine_id_valid_from_key" ON "machine_revision"("machine_id", "valid_from");
ALTER TABLE "machine_revision" ADD CONSTRAINT "machine_revision_machine_id_project_id_fkey" FOREIGN KEY ("machine_id", "project_id") REFERENCES "machine"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;

ALTER TABLE machine_revision
  ADD CONSTRAINT machine_revision_valid_from CHECK (valid_from >= '1900-01-01' AND valid_from < '2200-01-01'),
  ADD CONSTRAINT machine_revision_discs CHECK (disc_count > 0 AND disc_radius_mm > 0),
  ADD CONSTRAINT machine_revision_not_negative CHECK (rated_disc_load_kn > 0 AND stroke_length_m > 0 AND installed_power_kw > 0 AND rated_thrust_kn > 0
    AND rated_torque_knm > 0 AND friction_kn >= 0 AND idle_torque_knm >= 0 AND belt_capacity_t_per_h > 0),
  ADD CONSTRAINT machine_revision_torque_ratio_bounds CHECK (torque_ratio_lower >= 0 AND torque_ratio_upper > torque_ratio_lower);

COMMENT ON TABLE machine IS 'A tunnel boring machine, with its data as they are valid from the beginning.';
COMMENT ON TABLE machine_revision IS 'Data of a machine from a date on, until the next revision begins.';
COMMENT ON COLUMN machine_revision.revision IS 'Name of the revision, such as a drawing or a letter.';

ALTER TABLE history.machine ADD COLUMN revision TEXT;
SELECT hold_to_scope('machine_revision'), history.keep('machine'), history.keep('machine_revision');
