import { Injectable } from '@nestjs/common';
import type { WindowPage } from '../../../common/api/chainage-window.js';
import { cursorBy } from '../../../common/api/cursor.js';
import { placedList } from '../../../common/api/placed-page.js';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { driveFrame } from '../../../common/drive-frame.js';
import {
  type GivenPut,
  judgedEach,
  ManyPuts,
  putInto,
  type Refusals,
} from '../../../common/imports/many-puts.js';
import {
  Discontinuity,
  type DiscontinuityInput,
  type DiscontinuityPage,
  type DiscontinuitySheetInput,
  type DiscontinuitySheetReceipt,
  type NamedDiscontinuityInput,
} from './discontinuity.models.js';
import { discontinuityRows, KEEP } from './discontinuity-rows.js';

export const DISCONTINUITY_COLUMNS = columnsOf(Discontinuity, '', { set: 'set_label' });

const ONE = sql`select ${DISCONTINUITY_COLUMNS} from discontinuity_row where drive_id = $1 and name = $2`;

const NAMED = sql`select ${DISCONTINUITY_COLUMNS} from discontinuity_row where drive_id = $1 and name = any($2)`;

const PAGE = sql`select ${DISCONTINUITY_COLUMNS}, ${cursorBy({ metres: 'at_m' }, 'name')}
  from discontinuity_row where drive_id = $1 and at_m >= greatest($2::numeric, $4::numeric) and at_m < $3::numeric
  and (at_m > $4::numeric or name > $5) order by at_m, name limit $6`;

const STANDING = `select name from discontinuity where drive_id = $1 and name = any($2)`;

/** The discontinuities as mapped. */
@Injectable()
export class DiscontinuitiesService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    manyPuts: ManyPuts,
  ) {
    manyPuts.register<DiscontinuityInput>('discontinuities', {
      read: (drive, names) => this.drives.read(drive, NAMED, names),
      put: (drive, given) => this.keepEach(drive, given),
    });
  }

  page(drive: string, query: WindowPage): Promise<DiscontinuityPage> {
    return this.drives.reading(drive, (id, statements) => placedList(statements, id, PAGE, query));
  }

  async get(drive: string, name: string): Promise<Discontinuity> {
    const [found] = await this.drives.read(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return found;
  }

  async put(drive: string, name: string, input: DiscontinuityInput): Promise<Discontinuity> {
    await this.keep(drive, [{ ...input, name }], () => '');
    return this.get(drive, name);
  }

  /** Puts all of them, or none. */
  putSheet(drive: string, { discontinuities }: DiscontinuitySheetInput): Promise<DiscontinuitySheetReceipt> {
    return this.keep(drive, discontinuities, (index) => `/discontinuities/${index}`);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.discontinuity.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }

  private keepEach(drive: string, given: readonly GivenPut<DiscontinuityInput>[]): Promise<Refusals> {
    return putInto(this.database, drive, async ({ id, frame, statements }) => {
      const { rows, refusals } = await judgedEach(given, ({ name, input }) =>
        discontinuityRows([{ ...input, name }], frame, () => ''),
      );
      await statements.$queryRawUnsafe(KEEP, id, JSON.stringify(rows.flat()));
      return refusals;
    });
  }

  private keep(
    drive: string,
    entries: NamedDiscontinuityInput[],
    pointerOf: (index: number) => string,
  ): Promise<DiscontinuitySheetReceipt> {
    return this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive); // existing rows are counted before they change
      const rows = discontinuityRows(entries, await driveFrame(transaction, id), pointerOf);
      const names = rows.map(({ name }) => name);
      const standing = await transaction.$queryRawUnsafe<{ name: string }[]>(STANDING, id, names);
      const known = new Set(standing.map(({ name }) => name));
      const changed = await transaction.$queryRawUnsafe<{ name: string }[]>(KEEP, id, JSON.stringify(rows));
      const replaced = changed.filter(({ name }) => known.has(name)).length;
      return { created: changed.length - replaced, replaced, unchanged: rows.length - changed.length };
    });
  }
}

const absent = (drive: string, name: string): Error => notFound(`discontinuity ${name} in drive ${drive}`);
