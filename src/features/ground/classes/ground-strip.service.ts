import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { CONTESTED } from './contested-class.model.js';
import type {
  ClassDecisionGap,
  GroundStripPage,
  GroundStripPiece,
  GoverningClass,
  GoverningClassPage,
} from './ground-strip.models.js';

const PLACE = `chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM"`;

const GOVERNED = `basis, is_countersigned as countersigned, ${CONTESTED}`;

const GAPS = `select kind, ${PLACE}, decision_number as decision, ground_class_code as "groundClass"
  from class_decision_gap where drive_id = $1 order by from_m`;

const GOVERNING = `select number, ${PLACE}, ground_class_code as "groundClass", ${GOVERNED}
  from (select row_number() over (order by from_m)::int as number, * from governing_class where drive_id = $1) r
  where number > $2 order by number limit $3`;

const STRIP = `select number, ${PLACE}, lithology, noted_class_code as "notedClass", governing_class_code as "governingClass", ${GOVERNED}
  from ground_strip($1, $2) where number > $3 order by number limit $4`;

const WHOLE: Page = { first: 2_000_000_000, after: 0 };

/** Class and lithology along the drive, and where the parties have not agreed yet. */
@Injectable()
export class GroundStripService {
  constructor(private readonly drives: DriveReader) {}

  gaps(drive: string): Promise<JsonRows<ClassDecisionGap>> {
    return this.drives.readJson<ClassDecisionGap>(drive, GAPS);
  }

  governing(drive: string, { first, after }: Page = WHOLE): Promise<JsonRows<GoverningClass>> {
    return this.drives.readJson<GoverningClass>(drive, GOVERNING, after, first);
  }

  strip(drive: string, { first, after }: Page = WHOLE): Promise<JsonRows<GroundStripPiece>> {
    return this.drives.readByCodes<GroundStripPiece>(drive, STRIP, after, first);
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
