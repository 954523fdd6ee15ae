import { Injectable } from '@nestjs/common';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { readJson, readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { jsonOf, type JsonRows, type JsonText } from '../../../common/database/json-rows.js';
import { columnsOf, type Reading, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { metresText, parseChainage } from '../../../engineering/chainage.js';
import { eachJudged, type Judged, JudgementKeeper } from './judgement-keeper.service.js';
import {
  MissingSupport,
  type MissingSupportArgs,
  type MissingSupportReport,
  RequiredSupport,
  type RequiredSupportReport,
  SUPPORT_CAUTION,
  type SupportReading,
  type SupportState,
} from './missing-support.models.js';

const MISSING_COLUMNS = columnsOf(MissingSupport, '', {
  from: { as: 'low.text' },
  to: { as: 'high.text' },
  item: 'item_code',
});

/** Exact numbers as text; the ends of an interval are written once, however many rows it has. */
const MISSING = eachJudged(
  (judged): Reading<MissingSupport> => sql`with found as materialized (
    select * from ${judged}missing_support_between($1, $2, $3::numeric, $4::numeric, $5::numeric) where $6::text is null or state = $6
  ), place as materialized (
    select m, chainage_text(m) as text from (select from_chainage_m from found union select to_chainage_m from found) ends(m)
  )
  select ${MISSING_COLUMNS}
  from found join place low on low.m = from_chainage_m join place high on high.m = to_chainage_m
  order by from_m, zone, item_code, part`,
);

const REQUIRED = sql`select ${columnsOf(RequiredSupport)} from required_support($1) order by from_m`;

const headOf = (judged: string): string =>
  `select chainage_text(face_chainage_m) as "faceChainage", ${judged} as "judged" from drive_progress where drive_id = $1`;

/** The cache only holds the current state of the record. */
const HEAD = {
  present: headOf(`case when report_kept.judgement_stands($1) then 'report_kept.'
    when exists (select from report_since.judged_since($1)) then 'report_since.' else '' end`),
  asOf: headOf(`''`),
};

const USUAL_LENGTH_M = 10;

/** The head of every reading of a drive's support, and how far a cached assessment is valid. */
export const readHead = async (
  statements: Statements,
  driveId: number,
): Promise<{ head: SupportReading; judged: Judged }> => {
  const [found] = await readRows<{ faceChainage: string; judged: Judged }>(
    statements,
    HEAD[scope().asOf ? 'asOf' : 'present'],
    driveId,
  );
  return {
    head: { faceChainage: found?.faceChainage ?? '', caution: SUPPORT_CAUTION },
    judged: found?.judged ?? '',
  };
};

/** Required against installed support between two chainages, in intervals at round chainages or as a whole. */
export const readMissing = (
  statements: Statements,
  drive: string,
  { from, to, lengthM }: Asked,
  judged: Judged = '',
  state?: SupportState | null,
): Promise<JsonRows<MissingSupport>> =>
  readJson(statements, MISSING[judged], scope().project, drive, from, to, lengthM, state ?? null);

/** Support demanded by classes and designer against support installed; rows as JSON from PostgreSQL, which are megabytes for a long drive. */
@Injectable()
export class MissingSupportService {
  constructor(
    private readonly drives: DriveReader,
    private readonly keeper: JudgementKeeper,
  ) {}

  required(drive: string): Promise<JsonText<RequiredSupportReport>> {
    return this.drives.reading(drive, async (id, statements) => {
      const [{ head }, items] = await Promise.all([
        readHead(statements, id),
        readJson(statements, REQUIRED, id),
      ]);
      return jsonOf<RequiredSupportReport>({ ...head, items });
    });
  }

  missing(drive: string, args: MissingSupportArgs): Promise<JsonText<MissingSupportReport>> {
    return this.drives.reading(drive, async (id, statements) => {
      const asking = asked(args, await driveFrame(statements, id));
      const { head, judged } = await readHead(statements, id);
      const items = await this.keeper.over(id, judged, (source) =>
        readMissing(statements, drive, asking, source, args.state),
      );
      return jsonOf<MissingSupportReport>({ ...head, items });
    });
  }
}

interface Asked {
  /** Chainage in metres. */
  from: string;
  to: string;
  /** Length of the intervals; null: the whole as one. [m] */
  lengthM: string | null;
}

const metres = (chainage: string): string => metresText(parseChainage(chainage));

/** The parsed arguments. @throws ProblemError invalid with every fault */
const asked = ({ from, to, lengthM }: MissingSupportArgs, frame: DriveFrame): Asked => {
  if (from == null && to == null)
    return {
      from: metres(frame.chainage(0)),
      to: metres(frame.chainage(frame.lengthMm)),
      lengthM: String(lengthM ?? USUAL_LENGTH_M),
    };
  const faults = (['from', 'to'] as const).flatMap((name): Fault[] => {
    const value = { from, to }[name];
    const detail =
      value == null ? `${name} is missing: from and to come together` : frame.outside(frame.drivenMm(value));
    return detail ? [{ in: 'query', pointer: `/${name}`, value, detail }] : [];
  });
  if (from != null && to != null && frame.drivenMm(from) === frame.drivenMm(to))
    faults.push({ in: 'query', pointer: '/to', value: to, detail: 'from and to are the same place' });
  if (faults.length > 0 || from == null || to == null) throw faulty('invalid', faults);
  return { from: metres(from), to: metres(to), lengthM: lengthM == null ? null : String(lengthM) };
};
