-- compatible: older builds keep working
-- What is kept of a judgement stands up to the first place that has changed: places where judging can begin again, and what is carried there.
DELETE FROM kept.judgement;
ALTER TABLE kept.judgement ADD COLUMN along jsonb;

-- The rows of support_judged_of of kind start.
CREATE UNLOGGED TABLE kept.checkpoint (
  drive_id int NOT NULL, project_id int NOT NULL,
  cell int, from_m numeric, support_item_id int, zone text, carried numeric, tolerated numeric
);
CREATE INDEX ON kept.checkpoint (drive_id);

COMMENT ON COLUMN kept.judgement.along IS 'Where each revision ruled along the drive (demand_along) [driven mm]; null: the record changed while it was judged.';
COMMENT ON TABLE kept.checkpoint IS 'Places of these drives where judging can begin again, and the pieces that are carried there: the rows of report.support_judged_of of kind start.';

ALTER TABLE kept.checkpoint ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY in_scope ON kept.checkpoint USING (project_id = (SELECT public.scope_project()));
DO $$ BEGIN EXECUTE 'CREATE POLICY owner ON kept.checkpoint TO CURRENT_USER USING (true)'; END $$;
GRANT SELECT, DELETE ON kept.checkpoint TO drivebook_app;
