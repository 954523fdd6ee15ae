import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { CONTESTED } from './contested-class.model.js';
import {
  ClassDecisionGap,
  type GroundStripPage,
  GroundStripPiece,
  GoverningClass,
  type GoverningClassPage,
} from './ground-strip.models.js';

/** Properties of a piece whose columns have other names. */
const GOVERNED = { countersigned: 'is_countersigned', contested: { as: CONTESTED } };

const GAPS = sql`select ${columnsOf(ClassDecisionGap, '', { decision: 'decision_number' })} from class_decision_gap where drive_id = $1 order by from_m`;

const GOVERNING = sql`select ${columnsOf(GoverningClass, '', GOVERNED)}
  from (select row_number() over (order by from_m)::int as number, * from governing_class where drive_id = $1) r
  where number > $2 order by number limit $3`;

const STRIP = sql`select ${columnsOf(GroundStripPiece, '', { ...GOVERNED, notedClass: 'noted_class_code' })}
  from ground_strip($1, $2) where number > $3 order by number limit $4`;

const WHOLE: Page = { first: 2_000_000_000, after: 0 };

/** Class and lithology along the drive, and where the parties have not agreed yet. */
@Injectable()
export class GroundStripService {
  constructor(private readonly drives: DriveReader) {}

  gaps(drive: string): Promise<JsonRows<ClassDecisionGap>> {
    return this.drives.readJson(drive, GAPS);
  }

  governing(drive: string, { first, after }: Page = WHOLE): Promise<JsonRows<GoverningClass>> {
    return this.drives.readJson(drive, GOVERNING, after, first);
  }

  strip(drive: string, { first, after }: Page = WHOLE): Promise<JsonRows<GroundStripPiece>> {
    return this.drives.readByCodes(drive, STRIP, after, first);
  }

  async governingPage(drive: string, { first, after }: Page): Promise<GoverningClassPage> {
    const rows = (await this.governing(drive, { first: first + 1, after })).rows();
    return pageFrom(rows, first, ({ number }) => number);
  }

  async stripPage(drive: string, { first, after }: Page): Promise<GroundStripPage> {
    const rows = (await this.strip(drive, { first: first + 1, after })).rows();
    return pageFrom(rows, first, ({ number }) => number);
  }
}
