import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { type Statements, readJson, readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { noBaseline } from './baselines.service.js';
import {
  BaselineCross,
  type BaselineEncountered,
  type BaselineStripPage,
  BaselineStripPiece,
  EncounteredClass,
} from './encountered.models.js';

const DRIVEN = `select f.face_m::text as "drivenM" from drive_progress f join baseline b on b.drive_id = f.drive_id where f.drive_id = $1 and b.name = $2`;

const CLASSES = sql`select ${columnsOf(EncounteredClass)} from baseline_against_encountered($1, $2, $3) order by ground_class_code`;

const CROSS = sql`select ${columnsOf(BaselineCross)} from baseline_cross($1, $2, $3) order by baseline_class_code, governing_class_code`;

const STRIP = sql`select ${columnsOf(BaselineStripPiece)} from baseline_strip($1, $2, $3) where number > $4 order by number limit $5`;

const WHOLE: Page = { first: 2_000_000_000, after: 0 };

/** The ground expected by the baseline against the ground encountered. */
@Injectable()
export class EncounteredService {
  constructor(private readonly drives: DriveReader) {}

  encountered(drive: string, baseline: string): Promise<BaselineEncountered> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const drivenM = await driven(statements, driveId, drive, baseline);
      const codes = [scope().project, drive, baseline];
      return {
        drivenM,
        classes: await readRows(statements, CLASSES, ...codes),
        cross: await readRows(statements, CROSS, ...codes),
      };
    });
  }

  strip(
    drive: string,
    baseline: string,
    { first, after }: Page = WHOLE,
  ): Promise<JsonRows<BaselineStripPiece>> {
    return this.drives.reading(drive, async (driveId, statements) => {
      await driven(statements, driveId, drive, baseline);
      return readJson(statements, STRIP, scope().project, drive, baseline, after, first);
    });
  }

  async stripPage(drive: string, baseline: string, { first, after }: Page): Promise<BaselineStripPage> {
    const rows = (await this.strip(drive, baseline, { first: first + 1, after })).rows();
    return pageFrom(rows, first, ({ number }) => number);
  }
}

/** Driven metres at the face. @throws ProblemError not_found naming the baseline */
const driven = async (
  statements: Statements,
  driveId: number,
  drive: string,
  baseline: string,
): Promise<string> => {
  const [found] = await readRows<{ drivenM: string }>(statements, DRIVEN, driveId, baseline);
  if (!found) throw noBaseline(drive, baseline);
  return found.drivenM;
};
