-- compatible: older builds keep working
-- Runs of strokes that lack the same are kept as the answer before the next stroke lists them, in words: of a long drive these are a megabyte.

-- The rows of support_run_of.
CREATE UNLOGGED TABLE kept.run (
  drive_id int NOT NULL, project_id int NOT NULL,
  zone text, support_item_id int, from_m numeric, to_m numeric, last_from_m numeric, required numeric, installed numeric, missing numeric, rests_on text,
  not_assessed_m numeric, cells int[], froms_m numeric[], tos_m numeric[], all_required numeric[], all_installed numeric[], all_missing numeric[],
  all_rest_on text[], words text
);
CREATE INDEX ON kept.run (drive_id);

COMMENT ON TABLE kept.run IS 'Runs of strokes that lack the same, of these drives: the rows of report.support_run_of.';

ALTER TABLE kept.run ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY in_scope ON kept.run USING (project_id = (SELECT public.scope_project()));
DO $$ BEGIN EXECUTE 'CREATE POLICY owner ON kept.run TO CURRENT_USER USING (true)'; END $$;
GRANT SELECT, DELETE ON kept.run TO drivebook_app;
