import { Injectable } from '@nestjs/common';
import type { WindowPage } from '../../../common/api/chainage-window.js';
import { placedPage } from '../../../common/api/placed-page.js';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { Prisma } from '../../../generated/prisma/client.js';
import type { GroundLog, GroundLogInput, GroundLogPage } from './ground-log.models.js';
import { GROUND_LOG, GROUND_LOGS, OTHERS_MET } from './ground-log-sql.js';
import { readGroundLog } from './read-ground-log.js';
import { withTableNotes } from './table-notes.js';

/** What the geologist mapped along the drive. */
@Injectable()
export class GroundLogsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  page(drive: string, query: WindowPage): Promise<GroundLogPage> {
    return this.drives.reading(drive, async (id, statements) => {
      const page = await placedPage(statements, id, GROUND_LOGS, query);
      return { ...page, items: page.items.map(withTableNotes) };
    });
  }

  async get(drive: string, name: string): Promise<GroundLog> {
    const [log] = await this.drives.read(drive, GROUND_LOG, name);
    if (!log) throw absent(drive, name);
    return withTableNotes(log);
  }

  /** @throws ProblemError invalid with every fault; conflict naming the logs that it overlaps */
  async put(drive: string, name: string, input: GroundLogInput): Promise<GroundLog> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive); // serialises logs that overlap
      const frame = await driveFrame(transaction, driveId);
      const log = readGroundLog(input, frame);
      await assertNoOverlap(transaction, driveId, name, log, input.from, frame);
      const where = { driveId_name: { driveId, name } };
      const row = forPrisma(log);
      await transaction.groundLogSheet.upsert({ where, create: { driveId, name, ...row }, update: row });
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.groundLogSheet.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

const JSON_COLUMNS = [
  'orientationProposal',
  'qJwAdjustment',
  'qSrfAdjustment',
  'qRange',
  'qLowestOf',
  'qHighestOf',
] as const;
type JsonColumn = (typeof JSON_COLUMNS)[number];
type JsonValue = Prisma.InputJsonObject | typeof Prisma.DbNull;

/** Replaces null by SQL NULL, instead of a JSON null, in columns of JSON. */
const forPrisma = ({ ...log }: ReturnType<typeof readGroundLog>) => {
  const json = Object.fromEntries(
    JSON_COLUMNS.map((column) => [column, log[column] ?? Prisma.DbNull]),
  ) as Record<JsonColumn, JsonValue>;
  return { ...log, ...json };
};

export const absent = (drive: string, name: string): Error =>
  notFound(`ground log ${name} in drive ${drive}`);

/** @throws ProblemError conflict with each log of the drive that overlaps the place */
const assertNoOverlap = async (
  statements: Statements,
  driveId: number,
  name: string,
  { fromM, toM, mappedPlace, mappedFor }: ReturnType<typeof readGroundLog>,
  from: string,
  frame: DriveFrame,
): Promise<void> => {
  const met = await readRows<{ name: string; fromMm: number; toMm: number }>(
    statements,
    OTHERS_MET,
    driveId,
    name,
    fromM,
    toM,
    mappedPlace,
    mappedFor,
  );
  if (met.length === 0) return;
  throw faulty(
    'overlap',
    met.map((other) => ({
      in: 'body',
      pointer: '/from',
      value: from,
      detail: `the log overlaps ${other.name}, ${frame.chainage(other.fromMm)} to ${frame.chainage(other.toMm)}: only one log of the ${mappedPlace} may cover a place for ${mappedFor === null ? 'no party in particular' : `the ${mappedFor}`}`,
    })),
  );
};
