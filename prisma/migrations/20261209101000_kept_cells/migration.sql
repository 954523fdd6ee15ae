-- Beside what strokes lack, the stretches of a whole drive by 10 m are kept, as most ask for them: laying all lines of a drive anew takes as long as judging it.
DELETE FROM kept.judgement;
ALTER TABLE kept.judgement ADD COLUMN bounds numeric[] NOT NULL;

-- The rows of support_cell_of between these bounds.
CREATE UNLOGGED TABLE kept.cell (
  drive_id int NOT NULL, project_id int NOT NULL,
  cell int, from_m numeric, to_m numeric, part text, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, rests_on text
);
CREATE INDEX ON kept.cell (drive_id);

COMMENT ON COLUMN kept.judgement.bounds IS 'Between which the cells are kept. [driven m]';
COMMENT ON TABLE kept.cell IS 'What stretches of these drives require, hold and lack: the rows of report.support_cell_of.';

ALTER TABLE kept.cell ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY in_scope ON kept.cell USING (project_id = (SELECT public.scope_project()));
DO $$ BEGIN EXECUTE 'CREATE POLICY owner ON kept.cell TO CURRENT_USER USING (true)'; END $$;
GRANT SELECT, DELETE ON kept.cell TO drivebook_app;
