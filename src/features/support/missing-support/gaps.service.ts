import { Injectable } from '@nestjs/common';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import type { SupportGap, SupportGapReport } from './gaps.models.js';
import { type Judged, JudgementKeeper } from './judgement-keeper.service.js';
import { readHead } from './missing-support.service.js';

const gapsOver = (
  judged: Judged,
): string => `select item_code as item, zone, chainage_text(round(from_chainage_m, 3)) as from, chainage_text(round(to_chainage_m, 3)) as to,
  direction, length_m::text as "lengthM", found_m::text as "foundM", allowed_m::text as "allowedM", gap_from_deg::text as "gapFromDeg",
  gap_to_deg::text as "gapToDeg", around_spacing_m::text as "aroundSpacingM", around_tolerance_m::text as "aroundToleranceM", spacing_m::text as "spacingM", tolerance_m::text as "toleranceM", pieces_per_row as "piecesPerRow",
  from_deg::text as "fromDeg", to_deg::text as "toDeg", missing, due, is_open as "isOpen", pieces_without_arc as "piecesWithoutArc", rests_on as "restsOn"
  from ${judged}support_gap($1, $2) order by from_m, to_m, zone, item_code, pieces_per_row, from_deg, gap_from_deg nulls first`;

/** Where pieces that are demanded at a spacing stand too far apart. */
@Injectable()
export class GapsService {
  constructor(
    private readonly drives: DriveReader,
    private readonly keeper: JudgementKeeper,
  ) {}

  list(drive: string): Promise<SupportGapReport> {
    return this.drives.reading(drive, async (id, statements) => {
      const { head, isKept } = await readHead(statements, id);
      const items = await this.keeper.over(id, isKept, (judged) =>
        readRows<SupportGap>(statements, gapsOver(judged), scope().project, drive),
      );
      return { ...head, items };
    });
  }
}
