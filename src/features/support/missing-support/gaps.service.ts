import { Injectable } from '@nestjs/common';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, type Reading, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { SupportGap, type SupportGapReport } from './gaps.models.js';
import { eachJudged, JudgementKeeper } from './judgement-keeper.service.js';
import { readHead } from './missing-support.service.js';

const AT = { item: 'item_code', from: 'round(from_chainage_m, 3)', to: 'round(to_chainage_m, 3)' } as const;

const GAPS = eachJudged(
  (judged): Reading<SupportGap> => sql`select ${columnsOf(SupportGap, '', AT)}
  from ${judged}support_gap($1, $2) order by from_m, to_m, zone, item_code, pieces_per_row, from_deg, gap_from_deg nulls first`,
);

/** Where pieces demanded at a spacing are too far apart. */
@Injectable()
export class GapsService {
  constructor(
    private readonly drives: DriveReader,
    private readonly keeper: JudgementKeeper,
  ) {}

  list(drive: string): Promise<SupportGapReport> {
    return this.drives.reading(drive, async (id, statements) => {
      const { head, judged } = await readHead(statements, id);
      const items = await this.keeper.over(id, judged, (from) =>
        readRows(statements, GAPS[from], scope().project, drive),
      );
      return { ...head, items };
    });
  }
}
