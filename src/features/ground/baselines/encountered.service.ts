import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { type Statements, readJson, readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { scope } from '../../../common/database/scope.js';
import { noBaseline } from './baselines.service.js';
import type {
  BaselineCross,
  BaselineEncountered,
  BaselineStripPage,
  BaselineStripPiece,
  EncounteredClass,
} from './encountered.models.js';

const DRIVEN = `select f.face_m::text as "drivenM" from drive_progress f join baseline b on b.drive_id = f.drive_id where f.drive_id = $1 and b.name = $2`;

const CLASSES = `select ground_class_code as "groundClass", baseline_m::text as "baselineM", baseline_percent::text as "baselinePercent",
  encountered_m::text as "encounteredM", encountered_percent::text as "encounteredPercent", difference_m::text as "differenceM",
  same_m::text as "sameM", agreed_m::text as "agreedM", disputed_m::text as "disputedM", proposed_m::text as "proposedM", noted_m::text as "notedM", draft_m::text as "draftM",
  whole_baseline_m::text as "wholeBaselineM" from baseline_against_encountered($1, $2, $3) order by ground_class_code`;

const CROSS = `select baseline_class_code as "baselineClass", governing_class_code as "governingClass", length_m::text as "lengthM"
  from baseline_cross($1, $2, $3) order by baseline_class_code, governing_class_code`;

const STRIP = `select number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM",
  baseline_class_code as "baselineClass", governing_class_code as "governingClass", basis, same_m::text as "sameM", other_m::text as "otherM",
  unclassed_m::text as "unclassedM", is_draft as "isDraft" from baseline_strip($1, $2, $3) where number > $4 order by number limit $5`;

const WHOLE: Page = { first: 2_000_000_000, after: 0 };

/** What the baseline expects against what was met. */
@Injectable()
export class EncounteredService {
  constructor(private readonly drives: DriveReader) {}

  encountered(drive: string, baseline: string): Promise<BaselineEncountered> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const drivenM = await driven(statements, driveId, drive, baseline);
      const codes = [scope().project, drive, baseline];
      return {
        drivenM,
        classes: await readRows<EncounteredClass>(statements, CLASSES, ...codes),
        cross: await readRows<BaselineCross>(statements, CROSS, ...codes),
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
      return readJson<BaselineStripPiece>(statements, STRIP, scope().project, drive, baseline, after, first);
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
