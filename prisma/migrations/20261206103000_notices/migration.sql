-- compatible: older builds keep working
-- Notices: what the contract says must be notified within how many days, and the events that called for it.

CREATE TABLE "notice_rule" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "days" INTEGER NOT NULL,
    "clause" TEXT NOT NULL,

    CONSTRAINT "notice_rule_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "contract_notice" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "code" TEXT NOT NULL,
    "notice_rule_id" INTEGER NOT NULL,
    "happened_at" TIMESTAMPTZ(3) NOT NULL,
    "concerns" TEXT NOT NULL,
    "from_m" DECIMAL(9,3),
    "to_m" DECIMAL(9,3),
    "shift_date" DATE,
    "shift_name" TEXT,
    "sent_at" TIMESTAMPTZ(3),
    "sent_by" TEXT,
    "sent_reference" TEXT,
    "answered_at" TIMESTAMPTZ(3),
    "answered_by" TEXT,
    "answer" TEXT,

    CONSTRAINT "contract_notice_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "notice_rule_project_id_code_key" ON "notice_rule"("project_id", "code");
CREATE UNIQUE INDEX "notice_rule_id_project_id_key" ON "notice_rule"("id", "project_id");
CREATE UNIQUE INDEX "contract_notice_drive_id_code_key" ON "contract_notice"("drive_id", "code");
CREATE INDEX "contract_notice_notice_rule_id_idx" ON "contract_notice"("notice_rule_id");
ALTER TABLE "notice_rule" ADD CONSTRAINT "notice_rule_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "contract_notice" ADD CONSTRAINT "contract_notice_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "contract_notice" ADD CONSTRAINT "contract_notice_notice_rule_id_project_id_fkey" FOREIGN KEY ("notice_rule_id", "project_id") REFERENCES "notice_rule"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE notice_rule
  ADD CONSTRAINT notice_rule_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT notice_rule_name CHECK (name ~ '\S'),
  ADD CONSTRAINT notice_rule_days CHECK (days BETWEEN 1 AND 3660),
  ADD CONSTRAINT notice_rule_clause CHECK (clause ~ '\S');
ALTER TABLE contract_notice
  ADD CONSTRAINT contract_notice_code CHECK (code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$'),
  ADD CONSTRAINT contract_notice_concerns CHECK (concerns ~ '\S'),
  ADD CONSTRAINT contract_notice_place CHECK ((from_m IS NULL) = (to_m IS NULL) AND from_m >= 0 AND to_m >= from_m),
  ADD CONSTRAINT contract_notice_shift CHECK ((shift_date IS NULL) = (shift_name IS NULL)),
  ADD CONSTRAINT contract_notice_sent CHECK ((sent_at IS NULL) = (sent_by IS NULL) AND (sent_reference IS NULL OR sent_at IS NOT NULL) AND sent_at >= happened_at),
  ADD CONSTRAINT contract_notice_answered CHECK ((answered_at IS NULL) = (answered_by IS NULL) AND (answer IS NULL OR answered_at IS NOT NULL)
    AND (answered_at IS NULL OR (sent_at IS NOT NULL AND answered_at >= sent_at)));

COMMENT ON TABLE notice_rule IS 'What the contract says must be notified, and within how many calendar days after it happened.';
COMMENT ON TABLE contract_notice IS 'An event that calls for a notice; when it was sent and answered.';
COMMENT ON COLUMN contract_notice.shift_date IS 'Of the shift that it concerns, by date and name: it may not be posted yet.';

SELECT hold_to_scope(t), history.keep(t) FROM unnest(ARRAY['notice_rule', 'contract_notice']) t;
