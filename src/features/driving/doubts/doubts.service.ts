import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { RecordDoubt } from './doubt.models.js';
import { readDoubts } from './read-doubts.js';

const OF_SHIFTS = `where drive_id = $1 and ($2::date is null or shift_date >= $2::date) and ($3::date is null or shift_date <= $3::date)`;

/** Implausible entries of the record, confirmed or not. */
@Injectable()
export class DoubtsService {
  constructor(private readonly drives: DriveReader) {}

  /** Doubts about shifts of the range; without a range, about the whole record. */
  ofDrive(drive: string, range: DateRange): Promise<RecordDoubt[]> {
    return this.drives.reading(drive, (id, statements) =>
      readDoubts(statements, OF_SHIFTS, id, ...daysOf(range)),
    );
  }
}
