import type { Readable } from 'node:stream';
import { Injectable } from '@nestjs/common';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { pageFrom, pageOf } from '../../../common/api/paging.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import {
  Attachment,
  type AttachmentFilter,
  type AttachmentInput,
  type AttachmentPage,
} from './attachment.models.js';
import { AttachmentFiles } from './attachment-files.js';
import { descriptionRow } from './attachment-row.js';

export const ATTACHMENT_COLUMNS = columnsOf(Attachment, '', {
  contentUrl: `format('/v1/projects/%s/drives/%s/attachments/%s/content', project_code, drive_code, digest)`,
});

const ONE = sql`select ${ATTACHMENT_COLUMNS} from attachment where drive_id = $1 and digest = $2`;

const PAGE = sql`select ${ATTACHMENT_COLUMNS} from attachment where drive_id = $1 and number > $2
  and ($4::numeric is null or to_m >= $4) and ($5::numeric is null or from_m <= $5)
  and ($6::date is null or shift_date = $6) and ($7::text is null or shift_name = $7)
  and ($8::text is null or subject_kind = $8) and ($9::text is null or subject_name = $9)
  order by number limit $3`;

const UPDATE = `update attached_file f set caption = r.caption, taken_at = r."takenAt", from_m = r."fromM", to_m = r."toM",
    shift_date = r."shiftDate", shift_name = r."shiftName", subject_kind = r."subjectKind", subject_name = r."subjectName"
  from jsonb_to_record($3::jsonb) as r(caption text, "takenAt" timestamptz(3), "fromM" numeric, "toM" numeric, "shiftDate" date,
    "shiftName" text, "subjectKind" attachment_subject, "subjectName" text)
  where f.drive_id = $1 and f.digest = $2`;

const REMOVE = 'delete from attached_file where drive_id = $1 and digest = $2';

/** The bytes of an attachment, with its type and name. */
export interface Content {
  attachment: Attachment;
  /** Opens the bytes. */
  open(): Promise<Readable>;
}

/** Photos and notes of a drive. */
@Injectable()
export class AttachmentsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    private readonly files: AttachmentFiles,
  ) {}

  /** @throws ProblemError invalid for a chainage outside the drive */
  async page(drive: string, filter: AttachmentFilter): Promise<AttachmentPage> {
    const { first, after } = pageOf(filter, 0);
    const items = await this.drives.reading(drive, async (driveId, statements) => {
      const { fromM, toM } = cut(filter, await driveFrame(statements, driveId));
      const { shiftDate, shiftName, subjectKind, subjectName } = filter;
      const parameters = [fromM, toM, shiftDate, shiftName, subjectKind, subjectName].map(
        (given) => given ?? null,
      );
      return readRows(statements, PAGE, driveId, after, first + 1, ...parameters);
    });
    return pageFrom(items, first, ({ number }) => number);
  }

  /** @throws ProblemError not_found */
  async get(drive: string, digest: string): Promise<Attachment> {
    const [found] = await this.drives.read(drive, ONE, digest);
    if (!found) throw absent(drive, digest);
    return found;
  }

  /** @throws ProblemError not_found */
  async content(drive: string, digest: string): Promise<Content> {
    const attachment = await this.get(drive, digest);
    const { projectId } = scope();
    return { attachment, open: () => this.files.read(projectId, attachment.digest, attachment.sizeBytes) };
  }

  /** Replaces the description of a file. @throws ProblemError not_found, invalid */
  async put(drive: string, digest: string, input: AttachmentInput): Promise<Attachment> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const said = await descriptionRow(transaction, driveId, await driveFrame(transaction, driveId), input);
      const count = await transaction.$executeRawUnsafe(UPDATE, driveId, digest, JSON.stringify(said));
      if (count === 0) throw absent(drive, digest);
    });
    return this.get(drive, digest);
  }

  /** Removes the attachment from the record; its history and its bytes stay. @throws ProblemError not_found */
  async remove(drive: string, digest: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      if ((await transaction.$executeRawUnsafe(REMOVE, driveId, digest)) === 0) throw absent(drive, digest);
    });
  }
}

const absent = (drive: string, digest: string): Error => notFound(`attachment ${digest} in drive ${drive}`);

/** The requested chainages in driven metres. */
const cut = ({ from, to }: AttachmentFilter, frame: DriveFrame): { fromM?: string; toM?: string } => {
  const faults: Fault[] = [];
  const place = (pointer: string, chainage: string | undefined): number | undefined => {
    if (chainage == null) return undefined;
    const mm = frame.drivenMm(chainage);
    const outside = frame.outside(mm);
    if (outside !== undefined) faults.push({ in: 'query', pointer, value: chainage, detail: outside });
    return mm;
  };
  const [fromMm, toMm] = [place('/from', from), place('/to', to)];
  if (faults.length === 0 && fromMm !== undefined && toMm !== undefined && toMm < fromMm) {
    const way = frame.direction === 1 ? 'rising' : 'falling';
    const detail = `${to} lies behind ${from}: the drive runs with ${way} chainage`;
    faults.push({ in: 'query', pointer: '/to', value: to, detail });
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  const metres = (mm: number | undefined): string | undefined =>
    mm === undefined ? undefined : metresText(mm);
  return { fromM: metres(fromMm), toM: metres(toMm) };
};
