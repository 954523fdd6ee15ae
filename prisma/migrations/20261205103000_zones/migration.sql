-- Zones are data of the project: a code, a name, and from where to where behind the face. L1 and L2 are what a project begins
-- with. The columns that named them by an enum hold the code, held to the zones of the project.

-- What reads the columns is made anew: the reports with the views of this release, what shows the past by history.keep.
DO $$
DECLARE
  outside text;
  o text;
  objects text[];
BEGIN
  SELECT string_agg(DISTINCT reader.oid::regclass::text, ', ') INTO outside
    FROM pg_depend d JOIN pg_rewrite r ON r.oid = d.objid JOIN pg_class reader ON reader.oid = r.ev_class JOIN pg_class used ON used.oid = d.refobjid
    WHERE d.classid = 'pg_rewrite'::regclass AND d.refclassid = 'pg_class'::regclass AND used.relnamespace = to_regnamespace('report')
      AND reader.relnamespace NOT IN (SELECT oid FROM pg_namespace WHERE nspname IN ('report', 'report_as_of', 'as_of'));
  IF outside IS NOT NULL THEN
    RAISE EXCEPTION 'views of your own read those of schema report: %', outside
      USING HINT = 'Drop them before this upgrade and create them anew after it: it makes the views of schema report anew.';
  END IF;
  DROP SCHEMA IF EXISTS report_as_of CASCADE;
  SELECT array_agg(format('DROP VIEW IF EXISTS report.%I CASCADE', viewname)) INTO objects FROM pg_views WHERE schemaname = 'report';
  FOREACH o IN ARRAY coalesce(objects, '{}') LOOP EXECUTE o; END LOOP;
  SELECT array_agg(format('DROP ROUTINE IF EXISTS %s CASCADE', oid::regprocedure)) INTO objects FROM pg_proc WHERE pronamespace = to_regnamespace('report');
  FOREACH o IN ARRAY coalesce(objects, '{}') LOOP EXECUTE o; END LOOP;
END $$;
DROP VIEW as_of.support_installed, as_of.standard_support_item, as_of.design_section_item, as_of.drive_support_limit;

ALTER TABLE "support_installed" ALTER COLUMN "zone" TYPE TEXT USING zone::text;
ALTER TABLE "standard_support_item" ALTER COLUMN "zone" TYPE TEXT USING zone::text;
ALTER TABLE "design_section_item" ALTER COLUMN "zone" TYPE TEXT USING zone::text;
ALTER TABLE "drive_support_limit" ALTER COLUMN "zone" TYPE TEXT USING zone::text;
ALTER TABLE history.support_installed ALTER COLUMN zone TYPE TEXT USING zone::text;
ALTER TABLE history.standard_support_item ALTER COLUMN zone TYPE TEXT USING zone::text;
ALTER TABLE history.design_section_item ALTER COLUMN zone TYPE TEXT USING zone::text;
ALTER TABLE history.drive_support_limit ALTER COLUMN zone TYPE TEXT USING zone::text;
DROP TYPE "support_zone";

CREATE TABLE "working_zone" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "from_behind_m" DECIMAL(9,3),
    "to_behind_m" DECIMAL(9,3),

    CONSTRAINT "working_zone_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "working_zone_project_id_code_key" ON "working_zone"("project_id", "code");
ALTER TABLE "working_zone" ADD CONSTRAINT "working_zone_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE working_zone
  ADD CONSTRAINT working_zone_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT working_zone_name CHECK (name ~ '\S'),
  ADD CONSTRAINT working_zone_behind CHECK (from_behind_m >= 0 AND to_behind_m > 0 AND to_behind_m > from_behind_m);

COMMENT ON TABLE working_zone IS 'A working zone of a project, in which support is put in.';
COMMENT ON COLUMN working_zone.from_behind_m IS 'Where it begins behind the face; null: not said. [m]';
COMMENT ON COLUMN working_zone.to_behind_m IS 'Where it ends behind the face: the limit of a drive that has none of its own; null: not said. [m]';

INSERT INTO working_zone (project_id, code, name)
  SELECT p.id, z.code, z.name FROM project p
  CROSS JOIN (VALUES ('L1', 'Working area behind the cutterhead'), ('L2', 'Working area on the back-up')) z(code, name);

ALTER TABLE "support_installed" ADD CONSTRAINT "support_installed_zone_project_id_fkey" FOREIGN KEY ("zone", "project_id") REFERENCES "working_zone"("code", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "standard_support_item" ADD CONSTRAINT "standard_support_item_zone_project_id_fkey" FOREIGN KEY ("zone", "project_id") REFERENCES "working_zone"("code", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "design_section_item" ADD CONSTRAINT "design_section_item_zone_project_id_fkey" FOREIGN KEY ("zone", "project_id") REFERENCES "working_zone"("code", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "drive_support_limit" ADD CONSTRAINT "drive_support_limit_zone_project_id_fkey" FOREIGN KEY ("zone", "project_id") REFERENCES "working_zone"("code", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- What a project begins with.
CREATE FUNCTION first_zones() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  INSERT INTO working_zone (project_id, code, name) VALUES
    (NEW.id, 'L1', 'Working area behind the cutterhead'), (NEW.id, 'L2', 'Working area on the back-up');
  RETURN NULL;
END $$;

CREATE TRIGGER first_zones AFTER INSERT ON project FOR EACH ROW EXECUTE FUNCTION first_zones();

SELECT hold_to_scope('working_zone'), history.keep('working_zone'), history.keep('support_installed'), history.keep('standard_support_item'),
  history.keep('design_section_item'), history.keep('drive_support_limit');
