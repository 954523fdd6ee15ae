-- What support a ground class demands, by contract: one standard a class, named by its edition. One without items says
-- that the class needs no support; a class without a standard says nothing.
CREATE TABLE "standard_support" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "ground_class_id" INTEGER NOT NULL,
    "edition" TEXT NOT NULL,

    CONSTRAINT "standard_support_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "standard_support_item" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "standard_support_id" INTEGER NOT NULL,
    "support_item_id" INTEGER NOT NULL,
    "unit" "support_unit" NOT NULL,
    "zone" "support_zone" NOT NULL,
    "quantity_per_m" DECIMAL(12,6) NOT NULL,
    "tolerance_percent" DECIMAL(5,2) NOT NULL DEFAULT 0,

    CONSTRAINT "standard_support_item_pkey" PRIMARY KEY ("id")
);

-- Along a section the designer's own list rules, whatever the class.
CREATE TABLE "design_section" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "name" TEXT NOT NULL,
    "from_m" DECIMAL(9,3) NOT NULL,
    "to_m" DECIMAL(9,3) NOT NULL,
    "edition" TEXT NOT NULL,

    CONSTRAINT "design_section_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "design_section_item" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "design_section_id" INTEGER NOT NULL,
    "support_item_id" INTEGER NOT NULL,
    "unit" "support_unit" NOT NULL,
    "zone" "support_zone" NOT NULL,
    "quantity_per_m" DECIMAL(12,6) NOT NULL,
    "tolerance_percent" DECIMAL(5,2) NOT NULL DEFAULT 0,

    CONSTRAINT "design_section_item_pkey" PRIMARY KEY ("id")
);

-- How far behind the face the support of a zone must be complete.
CREATE TABLE "drive_support_limit" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "zone" "support_zone" NOT NULL,
    "limit_m" DECIMAL(9,3) NOT NULL,

    CONSTRAINT "drive_support_limit_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "standard_support_ground_class_id_project_id_key" ON "standard_support"("ground_class_id", "project_id");
CREATE UNIQUE INDEX "standard_support_id_project_id_key" ON "standard_support"("id", "project_id");
CREATE UNIQUE INDEX "standard_support_item_standard_support_id_support_item_id_z_key" ON "standard_support_item"("standard_support_id", "support_item_id", "zone");
CREATE INDEX "standard_support_item_support_item_id_idx" ON "standard_support_item"("support_item_id");
CREATE UNIQUE INDEX "design_section_drive_id_name_key" ON "design_section"("drive_id", "name");
CREATE UNIQUE INDEX "design_section_id_project_id_key" ON "design_section"("id", "project_id");
CREATE UNIQUE INDEX "design_section_item_design_section_id_support_item_id_zone_key" ON "design_section_item"("design_section_id", "support_item_id", "zone");
CREATE INDEX "design_section_item_support_item_id_idx" ON "design_section_item"("support_item_id");
CREATE UNIQUE INDEX "drive_support_limit_drive_id_zone_key" ON "drive_support_limit"("drive_id", "zone");

ALTER TABLE "standard_support" ADD CONSTRAINT "standard_support_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "standard_support" ADD CONSTRAINT "standard_support_ground_class_id_project_id_fkey" FOREIGN KEY ("ground_class_id", "project_id") REFERENCES "ground_class"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "standard_support_item" ADD CONSTRAINT "standard_support_item_standard_support_id_project_id_fkey" FOREIGN KEY ("standard_support_id", "project_id") REFERENCES "standard_support"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "standard_support_item" ADD CONSTRAINT "standard_support_item_support_item_id_unit_project_id_fkey" FOREIGN KEY ("support_item_id", "unit", "project_id") REFERENCES "support_item"("id", "unit", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "design_section" ADD CONSTRAINT "design_section_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "design_section_item" ADD CONSTRAINT "design_section_item_design_section_id_project_id_fkey" FOREIGN KEY ("design_section_id", "project_id") REFERENCES "design_section"("id", "project_id") ON DELETE CASCADE ON UPDATE CASCADE;
ALTER TABLE "design_section_item" ADD CONSTRAINT "design_section_item_support_item_id_unit_project_id_fkey" FOREIGN KEY ("support_item_id", "unit", "project_id") REFERENCES "support_item"("id", "unit", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "drive_support_limit" ADD CONSTRAINT "drive_support_limit_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- what is demanded can be checked only against a source that is named
ALTER TABLE standard_support ADD CONSTRAINT standard_support_edition CHECK (edition ~ '\S');
ALTER TABLE standard_support_item ADD CONSTRAINT standard_support_item_demand CHECK (quantity_per_m > 0 AND tolerance_percent >= 0 AND tolerance_percent < 100);
ALTER TABLE design_section_item ADD CONSTRAINT design_section_item_demand CHECK (quantity_per_m > 0 AND tolerance_percent >= 0 AND tolerance_percent < 100);
ALTER TABLE design_section
  ADD CONSTRAINT design_section_name CHECK (name ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT design_section_edition CHECK (edition ~ '\S'),
  ADD CONSTRAINT design_section_has_length CHECK (from_m >= 0 AND to_m > from_m),
  ADD CONSTRAINT design_section_once EXCLUDE USING gist (drive_id WITH =, numrange(from_m, to_m) WITH &&);
ALTER TABLE drive_support_limit ADD CONSTRAINT drive_support_limit_not_negative CHECK (limit_m >= 0);

CREATE TRIGGER project_of_drive BEFORE INSERT ON design_section
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER project_of_drive BEFORE INSERT ON drive_support_limit
  FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();

CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON design_section FOR EACH ROW EXECUTE FUNCTION interval_within_drive();

-- A drive with design sections keeps its start and direction, by which their chainages are kept, and does not end before them.
CREATE FUNCTION drive_keeps_its_design() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(to_m) FROM design_section WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has design sections';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_design', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, which a design section reaches', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_design AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_design();

-- What is demanded by the metre counts in the item's unit: another unit would make another demand of the same number.
CREATE FUNCTION demanded_unit_fixed() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF EXISTS (SELECT FROM standard_support_item WHERE support_item_id = NEW.id) OR EXISTS (SELECT FROM design_section_item WHERE support_item_id = NEW.id) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'demanded_unit_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = format('item %s is demanded in %s per metre: its unit cannot change', OLD.code, OLD.unit);
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER demanded_unit_fixed AFTER UPDATE ON support_item
  FOR EACH ROW WHEN (OLD.unit IS DISTINCT FROM NEW.unit) EXECUTE FUNCTION demanded_unit_fixed();

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['standard_support', 'standard_support_item', 'design_section', 'design_section_item', 'drive_support_limit']) t;
