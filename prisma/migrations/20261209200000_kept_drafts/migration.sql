-- compatible: older builds keep working
-- What a draft of a valuation sums of each shift is kept as it was after a change of the record; report.draft_kept_of judges from the history what
-- of it still stands. As all in schema kept it follows from the record and may be deleted at any time: it is no part of the record, has no
-- history and is in no backup; after a crash and on a standby that takes over it is empty (unlogged).

-- One row a drive: the change of its project after which the sums were made, with its hash, as numbers may be given a second time after a
-- restore; and the ground as payment saw it then (report.ground_words_of).
CREATE UNLOGGED TABLE kept.draft (
  drive_id int PRIMARY KEY,
  project_id int NOT NULL,
  change bigint NOT NULL,
  hash bytea NOT NULL,
  ground_starts_mm int[] NOT NULL,
  ground_kinds int[] NOT NULL,
  ground_words text[] NOT NULL
);

-- One row a shift of these drives.
CREATE UNLOGGED TABLE kept.draft_shift (
  drive_id int NOT NULL, project_id int NOT NULL, shift_date date NOT NULL, shift_name text NOT NULL, shift_id int NOT NULL, is_silent boolean NOT NULL,
  from_mm int, to_mm int
);

-- The rows of draft_unit_of, by shift and pay item.
CREATE UNLOGGED TABLE kept.draft_sum (
  drive_id int NOT NULL, project_id int NOT NULL, shift_date date NOT NULL, shift_name text NOT NULL, pay_item_id int NOT NULL,
  bounded_quantity numeric NOT NULL, quantity numeric NOT NULL, held_quantity numeric NOT NULL, source_count int NOT NULL, incomplete_count int NOT NULL,
  seals bytea, basis text, is_agreed boolean NOT NULL, is_noted boolean NOT NULL, contested jsonb
);

CREATE INDEX ON kept.draft_shift (drive_id);
CREATE INDEX ON kept.draft_sum (drive_id);

COMMENT ON TABLE kept.draft IS 'Of a drive: the change after which the sums of its shifts were made and its hash, and the ground as payment saw it then.';
COMMENT ON TABLE kept.draft_shift IS 'The shifts that kept.draft_sum is of: between which places their records lie [driven mm], and whether they counted as deemed accepted.';
COMMENT ON TABLE kept.draft_sum IS 'What a draft says of the records of a shift under a pay item that certified valuations do not say already. [nr, m, m2, m3, kg, s]';

-- The service reads what is of its scope, and may delete it. It writes none: keep_draft_sums does, which measures by itself.
DO $$
DECLARE
  t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['draft', 'draft_shift', 'draft_sum'] LOOP
    EXECUTE format('ALTER TABLE kept.%I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY in_scope ON kept.%I USING (project_id = (SELECT public.scope_project()))', t);
    EXECUTE format('CREATE POLICY owner ON kept.%I TO CURRENT_USER USING (true)', t);
    EXECUTE format('GRANT SELECT, DELETE ON kept.%I TO drivebook_app', t);
  END LOOP;
END $$;

-- What was certified of the records of a shift is found by the shift, and what is no shift's by that.
CREATE INDEX "certified_source_drive_id_shift_date_shift_name_idx" ON "certified_source"("drive_id", "shift_date", "shift_name");
CREATE INDEX certified_source_of_no_shift ON certified_source (drive_id) WHERE shift_name IS NULL;
