import { Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { ProblemError } from '../../../common/api/problem.js';
import { Config } from '../../../common/config/config.js';
import { readToEnd } from '../../../common/api/streamed.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { driveFrame } from '../../../common/drive-frame.js';
import type { Attachment } from './attachment.models.js';
import { type ReadForm, withForm } from './attachment-form.js';
import { AttachmentFiles } from './attachment-files.js';
import { assertWithinQuota } from './attachment-quota.js';
import { descriptionRow, type DescriptionRow } from './attachment-row.js';
import { AttachmentsService } from './attachments.service.js';

const GIVEN = `jsonb_to_record($2::jsonb) as r(digest text, "fileName" text, "mediaType" text, "sizeBytes" int, caption text,
  "takenAt" timestamptz(3), "fromM" numeric, "toM" numeric, "shiftDate" date, "shiftName" text, "subjectKind" attachment_subject, "subjectName" text)`;

/** The fields in which the existing file differs from the given one; no row: there is none. */
const STANDING = `select f.number, array_remove(array[
    case when f.file_name <> r."fileName" then 'file name' end,
    case when f.caption is distinct from r.caption then 'caption' end,
    case when f.taken_at is distinct from r."takenAt" then 'takenAt' end,
    case when (f.from_m, f.to_m) is distinct from (r."fromM", r."toM") then 'from and to' end,
    case when (f.shift_date, f.shift_name) is distinct from (r."shiftDate", r."shiftName") then 'shift' end,
    case when (f.subject_kind, f.subject_name) is distinct from (r."subjectKind", r."subjectName") then 'subject' end], null) as differing
  from attached_file f, ${GIVEN} where f.drive_id = $1 and f.digest = r.digest`;

/** Numbers are never reused: removed files count too, by the history. */
const KEEP = `insert into attached_file (drive_id, number, digest, file_name, media_type, size_bytes, caption, taken_at, from_m, to_m,
    shift_date, shift_name, subject_kind, subject_name)
  select $1, (select coalesce(max(h.number), 0) + 1 from history.attached_file h where h.drive_id = $1), r.* from ${GIVEN}`;

interface Standing {
  number: number;
  differing: string[];
}

/** Size allowed for the parts of a form other than its file. [byte] */
const FORM_BYTES = 1024 * 1024;

/** Takes an upload: a file and its description, both or neither. Safe to repeat. */
@Injectable()
export class AttachmentUploadService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    private readonly files: AttachmentFiles,
    private readonly attachments: AttachmentsService,
    private readonly config: Config,
  ) {}

  /**
   * @returns the attachment, and whether it is new: an existing one with the same content and data is left as it is
   * @throws ProblemError too_large (also when the project's quota is used up), unsupported_media_type, or invalid for other invalid
   * uploads; conflict when the same content exists with other data; unavailable when the folder cannot be written; not_found for the
   * drive
   */
  async take(drive: string, request: FastifyRequest): Promise<{ attachment: Attachment; isNew: boolean }> {
    const mostBytes = this.files.limitBytes + FORM_BYTES;
    try {
      if (Number(request.headers['content-length'] ?? 0) > mostBytes)
        throw new ProblemError('too_large', `${this.files.tooLarge}; nothing was read.`);
      await this.drives.reading(drive, () => Promise.resolve()); // checks that the drive exists before the upload is read
      await this.files.ready();
      const { digest, isNew } = await withForm(request, this.files, (form) => this.keep(drive, form));
      return { attachment: await this.attachments.get(drive, digest), isNew };
    } finally {
      await readToEnd(request.raw, mostBytes);
    }
  }

  private keep(
    drive: string,
    { input, file, name, mediaType }: ReadForm,
  ): Promise<{ digest: string; isNew: boolean }> {
    return this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const said = await descriptionRow(transaction, driveId, await driveFrame(transaction, driveId), input);
      const { digest, sizeBytes } = file;
      const isNew = await put(
        transaction,
        driveId,
        {
          digest,
          fileName: name,
          mediaType,
          sizeBytes,
          ...said,
        },
        this.config.attachmentQuotaMb,
      );
      // Before the commit, so that no row exists without its bytes. A failed commit leaves bytes without a row.
      await this.files.place(scope().projectId, file);
      return { digest, isNew };
    });
  }
}

interface Row extends DescriptionRow {
  digest: string;
  fileName: string;
  mediaType: string;
  sizeBytes: number;
}

/** @returns whether it is new */
const put = async (
  transaction: Transaction,
  driveId: number,
  row: Row,
  quotaMb: number,
): Promise<boolean> => {
  const given = JSON.stringify(row);
  const [standing] = await readRows<Standing>(transaction, STANDING, driveId, given);
  if (!standing) {
    await assertWithinQuota(transaction, row, quotaMb);
    await transaction.$executeRawUnsafe(KEEP, driveId, given);
    return true;
  }
  if (standing.differing.length === 0) return false;
  throw new ProblemError(
    'exists',
    `this file is attachment ${standing.number} of the drive already, with a different ${standing.differing.join(', ')}: ` +
      `change that one, PUT …/attachments/${row.digest}`,
  );
};
