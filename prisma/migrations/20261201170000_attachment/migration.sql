-- ---------------------------------------------------------------------------------------------------------------
-- Attached files: photos and notes of a drive. The row says what a file is and what it belongs to; its bytes lie on
-- disk under their digest. View report.attachment reads them.
-- ---------------------------------------------------------------------------------------------------------------

CREATE TYPE "attachment_subject" AS ENUM ('probe_hole', 'ground_log', 'stroke');

CREATE TABLE "attached_file" (
    "id" SERIAL NOT NULL,
    "drive_id" INTEGER NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "number" INTEGER NOT NULL,
    "digest" TEXT NOT NULL,
    "file_name" TEXT NOT NULL,
    "media_type" TEXT NOT NULL,
    "size_bytes" INTEGER NOT NULL,
    "uploaded_by" TEXT NOT NULL DEFAULT acting_subject(),
    "uploaded_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "caption" TEXT,
    "taken_at" TIMESTAMPTZ(3),
    "from_m" DECIMAL(9,3),
    "to_m" DECIMAL(9,3),
    "shift_date" DATE,
    "shift_name" TEXT,
    "subject_kind" "attachment_subject",
    "subject_name" TEXT,

    CONSTRAINT "attached_file_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "attached_file_drive_id_digest_key" ON "attached_file"("drive_id", "digest");
CREATE UNIQUE INDEX "attached_file_drive_id_number_key" ON "attached_file"("drive_id", "number");
ALTER TABLE "attached_file" ADD CONSTRAINT "attached_file_drive_id_project_id_fkey" FOREIGN KEY ("drive_id", "project_id") REFERENCES "drive"("id", "project_id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE attached_file
  ADD CONSTRAINT attached_file_number CHECK (number > 0),
  ADD CONSTRAINT attached_file_digest CHECK (digest ~ '^[0-9a-f]{64}$'),
  ADD CONSTRAINT attached_file_name CHECK (length(file_name) BETWEEN 1 AND 200 AND file_name !~ '[/\\[:cntrl:]]' AND file_name NOT IN ('.', '..')),
  ADD CONSTRAINT attached_file_media_type CHECK (media_type IN (
    'image/jpeg', 'image/png', 'image/webp', 'image/heic', 'image/heif', 'application/pdf', 'text/plain', 'text/csv')),
  ADD CONSTRAINT attached_file_size CHECK (size_bytes > 0),
  ADD CONSTRAINT attached_file_place CHECK ((from_m IS NULL) = (to_m IS NULL) AND from_m >= 0 AND to_m >= from_m),
  ADD CONSTRAINT attached_file_shift CHECK ((shift_date IS NULL) = (shift_name IS NULL)),
  ADD CONSTRAINT attached_file_subject CHECK ((subject_kind IS NULL) = (subject_name IS NULL));

COMMENT ON TABLE attached_file IS 'Photos and notes attached to a drive; the bytes lie on disk under their digest. A row that is removed leaves them there.';
COMMENT ON COLUMN attached_file.number IS '1, 2, 3 … in the drive; the number of one that was removed is not given again.';
COMMENT ON COLUMN attached_file.digest IS 'SHA-256 of the bytes, 64 hexadecimal digits.';
COMMENT ON COLUMN attached_file.media_type IS 'As the content has it, not as the sender says.';
COMMENT ON COLUMN attached_file.size_bytes IS 'Number of its bytes.';
COMMENT ON COLUMN attached_file.from_m IS 'Driven metres where what it shows begins; null: it is of no place. [m]';
COMMENT ON COLUMN attached_file.to_m IS 'Driven metres where it ends; equal to from_m for a place. [m]';
COMMENT ON COLUMN attached_file.shift_date IS 'Date of the shift it belongs to, with shift_name. By its natural key: a shift that is removed and posted again keeps its photos.';
COMMENT ON COLUMN attached_file.subject_name IS 'Name of the probe hole or ground log, or number of the stroke, that it belongs to.';

CREATE TRIGGER project_of_drive BEFORE INSERT ON attached_file FOR EACH ROW WHEN (NEW.project_id IS NULL) EXECUTE FUNCTION project_of_drive();
CREATE TRIGGER within_drive AFTER INSERT OR UPDATE ON attached_file FOR EACH ROW EXECUTE FUNCTION interval_within_drive();

-- What the file is stands; what is said of it may change. After the row: row-level security and foreign keys speak first.
CREATE FUNCTION attached_file_stands() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'attached_file_stands', TABLE = 'attached_file',
    MESSAGE = format('attachment %s stands as it was uploaded: remove it and upload another', OLD.number);
END $$;

CREATE TRIGGER attached_file_stands AFTER UPDATE ON attached_file FOR EACH ROW
  WHEN ((OLD.number, OLD.digest, OLD.file_name, OLD.media_type, OLD.size_bytes, OLD.uploaded_by, OLD.uploaded_at)
    IS DISTINCT FROM (NEW.number, NEW.digest, NEW.file_name, NEW.media_type, NEW.size_bytes, NEW.uploaded_by, NEW.uploaded_at))
  EXECUTE FUNCTION attached_file_stands();

-- Places are driven metres from the drive's start, as the record's are.
CREATE FUNCTION drive_keeps_its_attachments() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  furthest numeric := (SELECT max(to_m) FROM attached_file WHERE drive_id = NEW.id);
BEGIN
  IF furthest IS NULL THEN RETURN NULL; END IF;
  IF (NEW.start_chainage_m, NEW.direction) IS DISTINCT FROM (OLD.start_chainage_m, OLD.direction) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_start_fixed', TABLE = TG_TABLE_NAME,
      MESSAGE = 'start chainage and direction cannot change: the drive has attachments with chainages';
  END IF;
  IF furthest > abs(NEW.end_chainage_m - NEW.start_chainage_m) THEN
    RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'drive_end_behind_attachment', TABLE = TG_TABLE_NAME,
      MESSAGE = format('the drive cannot end before %s, of which it has an attachment', chainage_text(OLD.start_chainage_m + OLD.direction * furthest));
  END IF;
  RETURN NULL;
END $$;

CREATE TRIGGER drive_keeps_its_attachments AFTER UPDATE OF start_chainage_m, end_chainage_m, direction ON drive
  FOR EACH ROW EXECUTE FUNCTION drive_keeps_its_attachments();

SELECT hold_to_scope('attached_file'), history.keep('attached_file');
