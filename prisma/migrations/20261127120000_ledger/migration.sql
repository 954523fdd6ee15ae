-- An activity may name the equipment that it concerns.

CREATE TABLE "equipment" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "code" TEXT NOT NULL,
    "description" TEXT NOT NULL,

    CONSTRAINT "equipment_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "equipment_project_id_code_key" ON "equipment"("project_id", "code");
CREATE UNIQUE INDEX "equipment_id_project_id_key" ON "equipment"("id", "project_id");
ALTER TABLE "equipment" ADD CONSTRAINT "equipment_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE,
  ADD CONSTRAINT equipment_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$');

ALTER TABLE "activity" ADD COLUMN "equipment_id" INTEGER;
CREATE INDEX "activity_equipment_id_idx" ON "activity"("equipment_id");
ALTER TABLE "activity" ADD CONSTRAINT "activity_equipment_id_project_id_fkey" FOREIGN KEY ("equipment_id", "project_id") REFERENCES "equipment"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE history.activity ADD COLUMN equipment_id INTEGER;
SELECT hold_to_scope('equipment'), history.keep('equipment'), history.keep('activity');
