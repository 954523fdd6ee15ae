import { Injectable } from '@nestjs/common';
import { partOf, type WindowPage } from '../../../common/api/chainage-window.js';
import { cursorBy } from '../../../common/api/cursor.js';
import { placedList } from '../../../common/api/placed-page.js';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { isCollision } from '../../../common/database/sql-error.js';
import { driveFrame } from '../../../common/drive-frame.js';
import {
  assertTaken,
  type GivenPut,
  judgedEach,
  keepRows,
  ManyPuts,
  putInto,
  type Refusals,
} from '../../../common/imports/many-puts.js';
import { DoubtedRecord } from '../../driving/doubts/doubt.models.js';
import { readWithDoubts } from '../../driving/doubts/read-doubts.js';
import type { SupportIntervalArgs } from '../../support/support/support.models.js';
import {
  OVERBREAK_CAUTION,
  type OverbreakInput,
  OverbreakInterval,
  OverbreakItem,
  type OverbreakItemWithDoubts,
  type OverbreakPage,
  OverbreakTotal,
} from './overbreak.models.js';
import { overbreakRow } from './overbreak-row.js';

export const OVERBREAK_COLUMNS = columnsOf(OverbreakItem, '', { isVolumeSurveyed: 'volume_surveyed' });

const NAMED = sql`select ${OVERBREAK_COLUMNS} from overbreak where drive_id = $1 and name = any($2)`;

const VOLUMES = `select name, volume_m3::text as "volumeM3" from overbreak_item where drive_id = $1 and name = any($2)`;

const PAGE = sql`select ${OVERBREAK_COLUMNS}, ${cursorBy({ metres: 'from_m' }, 'name')}
  from overbreak where drive_id = $1 and to_m > $2::numeric and from_m < $3::numeric and from_m >= $4::numeric
  and (from_m > $4::numeric or name > $5) order by from_m, name limit $6`;

const TOTAL = sql`select ${columnsOf(OverbreakTotal, '', { caution: false })} from overbreak_total where drive_id = $1`;

const INTERVALS = sql`select ${columnsOf(OverbreakInterval)}
  from overbreak_in_intervals($1, $2, $3::numeric) where to_m > $4::numeric and from_m < $5::numeric order by from_m`;

const USUAL_LENGTH_M = 10;

const MET = sql`select ${OVERBREAK_COLUMNS}
  from overbreak where drive_id = $1 and cause = $2 and name <> $3 and from_m < $5::numeric and to_m > $4::numeric
  and ring_arc(arc_from_deg, arc_to_deg) && ring_arc($6::numeric, $7::numeric) order by from_m, name`;

/** Rock that fell beyond the bored section. */
@Injectable()
export class OverbreakService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    manyPuts: ManyPuts,
  ) {
    manyPuts.register<OverbreakInput>('overbreak', {
      read: (drive, names) => this.drives.read(drive, NAMED, names),
      put: (drive, given) => this.keep(drive, given),
    });
  }

  page(drive: string, query: WindowPage): Promise<OverbreakPage> {
    return this.drives.reading(drive, (id, statements) => placedList(statements, id, PAGE, query));
  }

  async get(drive: string, name: string): Promise<OverbreakItemWithDoubts> {
    const found = await this.drives.reading(drive, (id, statements) => {
      const reading = readRows(statements, NAMED, id, [name]);
      return readWithDoubts(statements, id, DoubtedRecord.overbreak, name, reading);
    });
    if (!found) throw absent(drive, name);
    return found;
  }

  async put(drive: string, name: string, input: OverbreakInput): Promise<OverbreakItemWithDoubts> {
    const write = this.keep(drive, [{ name, input }]).then(assertTaken);
    await write.catch(async (error: unknown) => {
      if (isCollision(error)) await this.tellWhatItMeets(drive, name, input);
      throw error;
    });
    return this.get(drive, name);
  }

  private keep(drive: string, given: readonly GivenPut<OverbreakInput>[]): Promise<Refusals> {
    return putInto(this.database, drive, async ({ id, frame, statements }) => {
      const names = given.map(({ name }) => name);
      const standing = await readRows<{ name: string; volumeM3: string }>(statements, VOLUMES, id, names);
      const volumes = new Map(standing.map(({ name, volumeM3 }) => [name, volumeM3]));
      const { rows, refusals } = await judgedEach(given, ({ name, input }) => ({
        name,
        ...overbreakRow(input, frame, volumes.get(name)),
      }));
      await keepRows({ id, statements }, 'overbreak_item', rows);
      return refusals;
    });
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const { count } = await transaction.overbreakItem.deleteMany({ where: { driveId: id, name } });
      if (count === 0) throw absent(drive, name);
    });
  }

  async total(drive: string): Promise<OverbreakTotal> {
    const [total] = await this.drives.read(drive, TOTAL);
    if (!total) throw notFound(`drive ${drive} in project ${scope().project}`);
    return { ...total, caution: OVERBREAK_CAUTION };
  }

  /** Whole intervals that overlap the part. */
  byInterval(drive: string, { lengthM, ...part }: SupportIntervalArgs): Promise<OverbreakInterval[]> {
    return this.drives.reading(drive, async (id, statements) => {
      const { lowM, highM } = await partOf(statements, id, part);
      const asked = [scope().project, drive, String(lengthM ?? USUAL_LENGTH_M), lowM, highM];
      return readRows(statements, INTERVALS, ...asked);
    });
  }

  /** @throws ProblemError conflict naming items of the same cause in the same place */
  private async tellWhatItMeets(drive: string, name: string, input: OverbreakInput): Promise<void> {
    const met = await this.drives.reading(drive, async (id, statements) => {
      const { fromM, toM, cause, arcFromDeg, arcToDeg } = overbreakRow(
        input,
        await driveFrame(statements, id),
        input.volumeM3,
      );
      return readRows(statements, MET, id, cause, name, fromM, toM, arcFromDeg, arcToDeg);
    });
    if (met.length === 0) return;
    throw faulty(
      'overlap',
      met.map((item) => ({
        in: 'body' as const,
        pointer: '/from',
        value: input.from,
        detail: `${input.from} to ${input.to} overlaps ${item.cause} overbreak ${item.name}, ${item.from} to ${item.to}: the rock would be counted twice`,
      })),
    );
  }
}

const absent = (drive: string, name: string): Error => notFound(`overbreak ${name} in drive ${drive}`);
