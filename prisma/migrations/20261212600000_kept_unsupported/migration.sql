-- compatible: older builds keep working
-- Beside what strokes lack, the unsupported length is kept: who asks for it at the face need not sum all strokes of a drive.

-- The rows of unsupported_of.
CREATE UNLOGGED TABLE kept.unsupported (
  drive_id int NOT NULL, project_id int NOT NULL,
  zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric, supported_to_m numeric, supported_to_chainage_m numeric,
  complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric, overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric,
  state text, rests_on text
);
CREATE INDEX ON kept.unsupported (drive_id);

COMMENT ON TABLE kept.unsupported IS 'Unsupported length of these drives by zone: the rows of report.unsupported_of. [m]';

ALTER TABLE kept.unsupported ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY in_scope ON kept.unsupported USING (project_id = (SELECT public.scope_project()));
DO $$ BEGIN EXECUTE 'CREATE POLICY owner ON kept.unsupported TO CURRENT_USER USING (true)'; END $$;
GRANT SELECT, DELETE ON kept.unsupported TO drivebook_app;
