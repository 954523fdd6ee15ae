import { Injectable } from '@nestjs/common';
import { pageFrom, USUAL_PAGE } from '../../../common/api/paging.js';
import { daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { etagOf } from './shift-digest.js';
import type { ShiftFilter, ShiftHead, ShiftPage } from './shift-list.models.js';

const SHIFTS = `select s.shift_date::text as date, n.name as shift, s.starts_at as "startsAt", s.ends_at as "endsAt", s.state, s.digest,
    s.crew_lead as "crewLead", s.posted_by as "postedBy", s.submitted_at as "submittedAt", s.disputed_by as "disputedBy",
    s.countersigned_by as "countersignedBy", s.countersigned_at as "countersignedAt"
  from shift s join calendar_shift n on n.id = s.calendar_shift_id
  where s.drive_id = $1 and ($2::date is null or s.shift_date >= $2::date) and ($3::date is null or s.shift_date <= $3::date)
    and ($4::shift_state is null or s.state = $4::shift_state) and ($5::timestamptz is null or s.starts_at > $5::timestamptz)
  order by s.starts_at limit $6`;

type Row = Omit<ShiftHead, 'etag'> & { digest: string };

/** Posted shifts of a drive, with their state. */
@Injectable()
export class ShiftListService {
  constructor(private readonly drives: DriveReader) {}

  async page(drive: string, { state, first, after, ...range }: ShiftFilter): Promise<ShiftPage> {
    const most = first ?? USUAL_PAGE;
    const days = daysOf(range);
    const rows = await this.drives.read<Row>(drive, SHIFTS, ...days, state ?? null, after ?? null, most + 1);
    const { items, ...page } = pageFrom(rows, most, ({ startsAt }) => startsAt);
    return {
      ...page,
      items: items.map(({ digest, ...head }) => ({ ...head, etag: etagOf({ ...head, digest }) })),
    };
  }
}
