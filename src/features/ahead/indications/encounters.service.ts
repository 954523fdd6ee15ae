import { Injectable } from '@nestjs/common';
import type { WindowPage } from '../../../common/api/chainage-window.js';
import { cursorBy } from '../../../common/api/cursor.js';
import { placedPage } from '../../../common/api/placed-page.js';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import {
  assertTaken,
  type GivenPut,
  ManyPuts,
  putRows,
  type Refusals,
} from '../../../common/imports/many-puts.js';
import { encounterRow } from './ahead-rows.js';
import { Encounter, type EncounterInput, type EncounterPage } from './encounter.models.js';

/** Columns of encounter. */
export const ENCOUNTER_COLUMNS = columnsOf(Encounter, '', {
  from: { as: 'chainage_at(drive_id, from_m)' },
  to: { as: 'chainage_at(drive_id, to_m)' },
  face: { as: 'chainage_at(drive_id, face_m)' },
});

const ONE = sql`select ${ENCOUNTER_COLUMNS} from encounter where drive_id = $1 and name = $2`;

const NAMED = sql`select ${ENCOUNTER_COLUMNS} from encounter where drive_id = $1 and name = any($2)`;

const PAGE = sql`select ${ENCOUNTER_COLUMNS}, ${cursorBy({ metres: 'from_m' }, 'name')}
  from encounter where drive_id = $1 and (to_m > $2::numeric or from_m >= $2::numeric) and from_m < $3::numeric and from_m >= $4::numeric
  and (from_m > $4::numeric or name > $5) order by from_m, name limit $6`;

/** What was encountered in the ground. */
@Injectable()
export class EncountersService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    manyPuts: ManyPuts,
  ) {
    manyPuts.register<EncounterInput>('encounters', {
      read: (drive, names) => this.drives.read(drive, NAMED, names),
      put: (drive, given) => this.keep(drive, given),
    });
  }

  page(drive: string, query: WindowPage): Promise<EncounterPage> {
    return this.drives.reading(drive, (id, statements) => placedPage(statements, id, PAGE, query));
  }

  async get(drive: string, name: string): Promise<Encounter> {
    const [found] = await this.drives.read(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return found;
  }

  async put(drive: string, name: string, input: EncounterInput): Promise<Encounter> {
    assertTaken(await this.keep(drive, [{ name, input }]));
    return this.get(drive, name);
  }

  private keep(drive: string, given: readonly GivenPut<EncounterInput>[]): Promise<Refusals> {
    return putRows(this.database, drive, 'encounter', given, encounterRow);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.encounter.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

const absent = (drive: string, name: string): Error => notFound(`encounter ${name} in drive ${drive}`);
