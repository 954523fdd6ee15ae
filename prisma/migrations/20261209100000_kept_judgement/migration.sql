-- What the readings of missing support rest on is kept by drive, beside the record: how it is judged, in two functions now, is put in again after the migrations.
DROP FUNCTION IF EXISTS report.support_judged(int, numeric[]) CASCADE;

-- What is here follows from the record, and may be deleted at any time: it is worked out again. It is no part of the record, has no
-- history and is in no backup; after a crash and on a standby that takes over it is empty (unlogged). What each row is of is said by prisma/views/kept.
CREATE SCHEMA kept;

-- One row a drive whose judgement is kept: the change of its project after which it was judged, with its hash, as numbers may be given a
-- second time after a restore; the strokes (support_stroke); when, and how long it took.
CREATE UNLOGGED TABLE kept.judgement (
  drive_id int PRIMARY KEY,
  project_id int NOT NULL,
  change bigint NOT NULL,
  hash bytea NOT NULL,
  strokes numeric[] NOT NULL,
  kept_at timestamptz NOT NULL,
  took_ms int NOT NULL
);

-- The rows of support_lacking_of.
CREATE UNLOGGED TABLE kept.lacking (
  drive_id int NOT NULL, project_id int NOT NULL,
  kind text, cell int, from_m numeric, to_m numeric, support_item_id int, zone text, length_m numeric, required numeric, tolerated numeric,
  installed numeric, missing numeric, short_from_m numeric, rests_on text, demanded_from_m numeric, demanded_to_m numeric
);

-- The rows of support_gap_of.
CREATE UNLOGGED TABLE kept.gap (
  drive_id int NOT NULL, project_id int NOT NULL,
  support_item_id int, zone text, pieces_per_row int, from_deg numeric, to_deg numeric, from_m numeric, to_m numeric, spacing_m numeric,
  tolerance_m numeric, places_mm int[], is_open boolean, unplaced int, rests_on text, direction text, around_spacing_m numeric, around_tolerance_m numeric,
  gap_from_deg numeric, gap_to_deg numeric, found_m numeric, allowed_m numeric
);

CREATE INDEX ON kept.lacking (drive_id);
CREATE INDEX ON kept.gap (drive_id);

COMMENT ON SCHEMA kept IS 'What follows from the record and is kept beside it; it may be deleted at any time.';
COMMENT ON TABLE kept.judgement IS 'One row a drive whose judgement of support is kept: the change after which it was judged and its hash; strokes: their bounds [driven m]; took_ms: how long it took [ms].';
COMMENT ON TABLE kept.lacking IS 'What strokes of these drives lack: the rows of report.support_lacking_of.';
COMMENT ON TABLE kept.gap IS 'Gaps in the spacing of these drives: the rows of report.support_gap_of.';

-- The service reads what is of its scope, and may delete it. It writes none: keep_judgement does, which judges by itself.
DO $$
DECLARE
  t text;
BEGIN
  GRANT USAGE ON SCHEMA kept TO drivebook_app;
  FOREACH t IN ARRAY ARRAY['judgement', 'lacking', 'gap'] LOOP
    EXECUTE format('ALTER TABLE kept.%I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY in_scope ON kept.%I USING (project_id = (SELECT public.scope_project()))', t);
    EXECUTE format('CREATE POLICY owner ON kept.%I TO CURRENT_USER USING (true)', t);
    EXECUTE format('GRANT SELECT, DELETE ON kept.%I TO drivebook_app', t);
  END LOOP;
END $$;
