import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import {
  assertTaken,
  type GivenPut,
  judgedEach,
  keepRows,
  ManyPuts,
  putInto,
  type Refusals,
} from '../../../common/imports/many-puts.js';
import { ProbeHole, type ProbeHoleInput } from './probe-hole.model.js';
import { probeHoleRow } from './probe-hole-row.js';
import { ADD_NEW, LOG, REMOVE_STALE } from './probe-log-sql.js';

export const PROBE_HOLE_COLUMNS = columnsOf(ProbeHole, 'h', {
  collar: { as: 'chainage_at(h.drive_id, h.collar_m)' },
  face: { as: 'chainage_at(h.drive_id, h.face_m)' },
  reach: { as: 'chainage_at(h.drive_id, h.collar_m + h.axial_reach_m)' },
  method: 'h.method::text',
  state: 'r.state',
  log: { as: LOG },
  givesCover: 'r.gives_cover',
  shiftDate: 'r.shift_date',
  shiftName: 'r.shift_name',
  shiftState: 'r.shift_state',
});

const HOLES = sql`select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 order by h.collar_m, h.name`;

const HOLE = sql`select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 and h.name = $2`;

const NAMED = sql`select ${PROBE_HOLE_COLUMNS}
  from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id where h.drive_id = $1 and h.name = any($2)`;

@Injectable()
export class ProbingService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    manyPuts: ManyPuts,
  ) {
    manyPuts.register<ProbeHoleInput>('probe-holes', {
      read: (drive, names) => this.drives.read(drive, NAMED, names),
      put: (drive, given) => this.keep(drive, given),
    });
  }

  list(drive: string): Promise<ProbeHole[]> {
    return this.drives.read(drive, HOLES);
  }

  async get(drive: string, name: string): Promise<ProbeHole> {
    const [found] = await this.drives.read(drive, HOLE, name);
    if (!found) throw notFound(`probe hole ${name} in drive ${drive}`);
    return found;
  }

  async put(drive: string, name: string, input: ProbeHoleInput): Promise<ProbeHole> {
    assertTaken(await this.keep(drive, [{ name, input }]));
    return this.get(drive, name);
  }

  /** Holes with their logs. */
  private keep(drive: string, given: readonly GivenPut<ProbeHoleInput>[]): Promise<Refusals> {
    return putInto(this.database, drive, async (place) => {
      const { rows, refusals } = await judgedEach(given, ({ name, input }) => ({
        row: { name, ...probeHoleRow(input, place.frame) },
        log: input.log,
      }));
      const logs = JSON.stringify(rows.map(({ row, log }) => ({ name: row.name, log })));
      await place.statements.$queryRawUnsafe(REMOVE_STALE, place.id, logs);
      await keepRows(
        place,
        'probe_hole',
        rows.map(({ row }) => row),
      );
      await place.statements.$queryRawUnsafe(ADD_NEW, place.id, logs);
      return refusals;
    });
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const { count } = await transaction.probeHole.deleteMany({ where: { driveId: id, name } });
      if (count === 0) throw notFound(`probe hole ${name} in drive ${drive}`);
    });
  }
}
