-- Two more values of a boring, computed on write. Those of standing borings stay null until `drivebook recompute`: they
-- follow from the readings by the formulas of the service, which have one home.
ALTER TABLE "boring" ADD COLUMN "power_kw" DOUBLE PRECISION, ADD COLUMN "torque_penetration_index" DOUBLE PRECISION;

-- What muck weighs and takes up, by ground class, else by drive; and what the belt carries.
ALTER TABLE "ground_class" ADD COLUMN "density_t_per_m3" DECIMAL(5,3), ADD COLUMN "swell_percent" DECIMAL(6,2);
ALTER TABLE "drive" ADD COLUMN "density_t_per_m3" DECIMAL(5,3), ADD COLUMN "swell_percent" DECIMAL(6,2);
ALTER TABLE "machine" ADD COLUMN "belt_capacity_t_per_h" DECIMAL(9,3);

ALTER TABLE ground_class ADD CONSTRAINT ground_class_muck CHECK (density_t_per_m3 > 0 AND swell_percent >= 0);
ALTER TABLE drive ADD CONSTRAINT drive_muck CHECK (density_t_per_m3 > 0 AND swell_percent >= 0);
ALTER TABLE machine ADD CONSTRAINT machine_belt CHECK (belt_capacity_t_per_h > 0);

ALTER TABLE history.boring ADD COLUMN power_kw DOUBLE PRECISION, ADD COLUMN torque_penetration_index DOUBLE PRECISION;
ALTER TABLE history.ground_class ADD COLUMN density_t_per_m3 DECIMAL(5,3), ADD COLUMN swell_percent DECIMAL(6,2);
ALTER TABLE history.drive ADD COLUMN density_t_per_m3 DECIMAL(5,3), ADD COLUMN swell_percent DECIMAL(6,2);
ALTER TABLE history.machine ADD COLUMN belt_capacity_t_per_h DECIMAL(9,3);
SELECT history.keep('boring'), history.keep('ground_class'), history.keep('drive'), history.keep('machine');

-- What a countersigned shift holds stands still. It takes one change: a value of these two that it lacks, as it was
-- countersigned before there was such a value. It follows from readings that stand; once there, it stands as they do.
DROP TRIGGER hold_countersigned ON boring;
CREATE TRIGGER hold_countersigned BEFORE INSERT OR DELETE ON boring FOR EACH ROW EXECUTE FUNCTION hold_countersigned();
CREATE TRIGGER hold_countersigned_update BEFORE UPDATE ON boring FOR EACH ROW
  WHEN (NEW IS NOT DISTINCT FROM OLD
    OR to_jsonb(NEW) - ARRAY['power_kw', 'torque_penetration_index'] IS DISTINCT FROM to_jsonb(OLD) - ARRAY['power_kw', 'torque_penetration_index']
    OR NEW.power_kw IS DISTINCT FROM coalesce(OLD.power_kw, NEW.power_kw)
    OR NEW.torque_penetration_index IS DISTINCT FROM coalesce(OLD.torque_penetration_index, NEW.torque_penetration_index))
  EXECUTE FUNCTION hold_countersigned();
