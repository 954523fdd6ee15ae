import { Injectable } from '@nestjs/common';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { jsonOf, JsonRows, type JsonText } from '../../../common/database/json-rows.js';
import { columnsOf, objectOf, type Reading, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { eachJudged, type Judged, JudgementKeeper } from './judgement-keeper.service.js';
import { readHead } from './missing-support.service.js';
import {
  type BeforeNextStroke,
  type NextStrokeItem,
  NextStrokeZone,
  type UnsupportedLength,
  UnsupportedZone,
} from './unsupported.models.js';

const unsupportedOver = (judged: Judged): Reading<UnsupportedZone> =>
  sql`select ${columnsOf(UnsupportedZone)} from ${judged}unsupported_length($1, $2) order by zone`;

const UNSUPPORTED = eachJudged(unsupportedOver);

const STROKE_LENGTH = `select stroke_length_m::text as length from machine_at_face($1)`;

/** The list is long where much is overdue: it stays JSON text as made or cached by PostgreSQL. */
const nextStrokeOver = (judged: Judged): string => `select
    coalesce(json_agg(${objectOf(columnsOf(NextStrokeZone))} order by zone) filter (where item_code is null), '[]') as zones,
    '[' || coalesce(string_agg(words, E', \\n ' order by zone, from_m, item_code, to_m) filter (where item_code is not null), '') || ']' as items
  from ${judged}next_stroke_row_of($1, $2::numeric)`;

/** Consequences for the face: how much behind it is not supported, and what must be installed before it advances. */
@Injectable()
export class UnsupportedService {
  constructor(
    private readonly drives: DriveReader,
    private readonly keeper: JudgementKeeper,
  ) {}

  length(drive: string): Promise<UnsupportedLength> {
    return this.drives.reading(drive, async (id, statements) => {
      const { head, judged } = await readHead(statements, id);
      const zones = await this.keeper.over(id, judged, (from) =>
        readRows(statements, UNSUPPORTED[from], scope().project, drive),
      );
      return { ...head, zones };
    });
  }

  beforeNextStroke(drive: string, given?: string | null): Promise<JsonText<BeforeNextStroke>> {
    return this.drives.reading(drive, async (id, statements) => {
      const [[machine], { head, judged }] = await Promise.all([
        readRows<{ length: string | null }>(statements, STROKE_LENGTH, id),
        readHead(statements, id),
      ]);
      const strokeLengthM = given == null ? (machine?.length ?? undefined) : Number(given).toFixed(3);
      const [found] = await this.keeper.over(id, judged, (from) =>
        statements.$queryRawUnsafe<{ zones: NextStrokeZone[]; items: string }[]>(
          nextStrokeOver(from),
          id,
          strokeLengthM ?? null,
        ),
      );
      const { zones, items } = found ?? { zones: [], items: '[]' };
      return jsonOf<BeforeNextStroke>({
        ...head,
        strokeLengthM,
        zones,
        items: new JsonRows<NextStrokeItem>(items),
        unanswered: unanswered(strokeLengthM, zones),
      });
    });
  }
}

/** The figures that cannot be given and why, in words. */
const unanswered = (strokeLengthM: string | undefined, zones: NextStrokeZone[]): string | undefined => {
  const bare = ['L1', 'L2'].filter((zone) => !zones.some((limited) => limited.zone === zone));
  const reasons = [
    ...(bare.length > 0 ? [`no limit is set for ${bare.join(' and ')}: nothing is reported for it`] : []),
    ...(strokeLengthM === undefined
      ? ['the drive has no machine with a stroke length: only what is overdue now is reported']
      : []),
  ];
  return reasons.length > 0 ? reasons.join('; ') : undefined;
};
