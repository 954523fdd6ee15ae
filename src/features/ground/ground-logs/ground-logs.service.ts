import { Injectable } from '@nestjs/common';
import type { WindowPage } from '../../../common/api/chainage-window.js';
import { placedPage } from '../../../common/api/placed-page.js';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import {
  assertTaken,
  type GivenPut,
  judgedEach,
  keepRows,
  ManyPuts,
  putInto,
  type PutPlace,
  type Refusals,
} from '../../../common/imports/many-puts.js';
import { DoubtedRecord } from '../../driving/doubts/doubt.models.js';
import { readWithDoubts } from '../../driving/doubts/read-doubts.js';
import type { GroundLogInput, GroundLogPage, GroundLogWithDoubts } from './ground-log.models.js';
import { GROUND_LOGS, NAMED_GROUND_LOGS, OTHERS_MET } from './ground-log-sql.js';
import { readGroundLog } from './read-ground-log.js';
import { withTableNotes } from './table-notes.js';

/** What the geologist mapped along the drive. */
@Injectable()
export class GroundLogsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    manyPuts: ManyPuts,
  ) {
    manyPuts.register<GroundLogInput>('ground-logs', {
      read: async (drive, names) =>
        (await this.drives.read(drive, NAMED_GROUND_LOGS, names)).map(withTableNotes),
      put: (drive, given) => this.keep(drive, given),
    });
  }

  page(drive: string, query: WindowPage): Promise<GroundLogPage> {
    return this.drives.reading(drive, async (id, statements) => {
      const page = await placedPage(statements, id, GROUND_LOGS, query);
      return { ...page, items: page.items.map(withTableNotes) };
    });
  }

  async get(drive: string, name: string): Promise<GroundLogWithDoubts> {
    const log = await this.drives.reading(drive, (id, statements) => {
      const reading = readRows(statements, NAMED_GROUND_LOGS, id, [name]);
      return readWithDoubts(statements, id, DoubtedRecord.ground_log, name, reading);
    });
    if (!log) throw absent(drive, name);
    return withTableNotes(log);
  }

  /** @throws ProblemError invalid with every fault; conflict naming the logs that it overlaps */
  async put(drive: string, name: string, input: GroundLogInput): Promise<GroundLogWithDoubts> {
    assertTaken(await this.keep(drive, [{ name, input }]));
    return this.get(drive, name);
  }

  private keep(drive: string, given: readonly GivenPut<GroundLogInput>[]): Promise<Refusals> {
    return putInto(this.database, drive, async (place) => {
      const { rows, refusals } = await judgedEach(given, ({ name, input }) => ({
        name,
        ...readGroundLog(input, place.frame),
      }));
      const [log] = rows;
      // of many, the database says that one meets another; which one, its own PUT says
      if (given.length === 1 && log) await assertNoOverlap(place, log, given[0]?.input.from);
      await keepRows(place, 'ground_log_sheet', rows);
      return refusals;
    });
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.groundLogSheet.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

export const absent = (drive: string, name: string): Error =>
  notFound(`ground log ${name} in drive ${drive}`);

/** @throws ProblemError conflict with each log of the drive that overlaps the place */
const assertNoOverlap = async (
  { id, frame, statements }: PutPlace,
  { name, fromM, toM, mappedPlace, mappedFor }: ReturnType<typeof readGroundLog> & { name: string },
  from: string | undefined,
): Promise<void> => {
  const met = await readRows<{ name: string; fromMm: number; toMm: number }>(
    statements,
    OTHERS_MET,
    id,
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
