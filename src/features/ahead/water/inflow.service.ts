import { Injectable } from '@nestjs/common';
import { partOf } from '../../../common/api/chainage-window.js';
import { afterMoment, cursorBy } from '../../../common/api/cursor.js';
import { keyedPage, USUAL_PAGE } from '../../../common/api/paging.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { drivenInterval, type Note } from '../../../common/drive-interval.js';
import {
  assertTaken,
  type GivenPut,
  ManyPuts,
  putRows,
  type Refusals,
} from '../../../common/imports/many-puts.js';
import { InflowPlace } from '../../../generated/prisma/enums.js';
import { metresText } from '../../../engineering/chainage.js';
import {
  INFLOW_CAUTION,
  InflowInterval,
  type InflowIntervalArgs,
  InflowMeasurement,
  type InflowMeasurementInput,
  type InflowMeasurementPage,
  InflowOfHole,
  InflowOverTrigger,
  type TimedPageArgs,
  InflowStretch,
  InflowTotal,
} from './inflow.models.js';

/** Columns of inflow. */
export const INFLOW_COLUMNS = columnsOf(InflowMeasurement);

const ONE = sql`select ${INFLOW_COLUMNS} from inflow where drive_id = $1 and name = $2`;

const NAMED = sql`select ${INFLOW_COLUMNS} from inflow where drive_id = $1 and name = any($2)`;

const PAGE = sql`select ${INFLOW_COLUMNS}, ${cursorBy({ moment: 'measured_at' }, 'name')}
  from inflow where drive_id = $1 and (measured_at, name) > ($2::timestamptz, $3) order by measured_at, name limit $4`;

const STRETCHES = sql`select ${columnsOf(InflowStretch)} from inflow_stretch where drive_id = $1 order by from_m`;

const INTERVALS = sql`select ${columnsOf(InflowInterval)}
  from inflow_in_intervals($1, $2, $3::numeric) where to_m > $4::numeric and from_m < $5::numeric order by from_m`;

const HOLES = sql`select ${columnsOf(InflowOfHole)} from inflow_of_hole where drive_id = $1 order by hole`;

const TOTAL = sql`select ${columnsOf(InflowTotal, '', { caution: false })} from inflow_total where drive_id = $1`;

const OVER_TRIGGER = sql`select ${columnsOf(InflowOverTrigger)} from inflow_over_trigger where drive_id = $1 order by kind, from_m, hole`;

const USUAL_LENGTH_M = 100;

/** Water inflow into a drive. */
@Injectable()
export class InflowService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    manyPuts: ManyPuts,
  ) {
    manyPuts.register<InflowMeasurementInput>('inflow-measurements', {
      read: (drive, names) => this.drives.read(drive, NAMED, names),
      put: (drive, given) => this.keep(drive, given),
    });
  }

  page(drive: string, { first, after }: TimedPageArgs): Promise<InflowMeasurementPage> {
    const size = first ?? USUAL_PAGE;
    return this.drives.reading(drive, async (id, statements) => {
      const { at, name } = afterMoment(after);
      const rows = await readRows(statements, PAGE, id, at, name, size + 1);
      return keyedPage(rows, size);
    });
  }

  async get(drive: string, name: string): Promise<InflowMeasurement> {
    const [found] = await this.drives.read(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return found;
  }

  async put(drive: string, name: string, input: InflowMeasurementInput): Promise<InflowMeasurement> {
    assertTaken(await this.keep(drive, [{ name, input }]));
    return this.get(drive, name);
  }

  private keep(drive: string, given: readonly GivenPut<InflowMeasurementInput>[]): Promise<Refusals> {
    return putRows(this.database, drive, 'inflow_measurement', given, placed);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const { count } = await transaction.inflowMeasurement.deleteMany({ where: { driveId: id, name } });
      if (count === 0) throw absent(drive, name);
    });
  }

  stretches(drive: string): Promise<InflowStretch[]> {
    return this.drives.read(drive, STRETCHES);
  }

  /** Whole intervals that overlap the part. */
  byInterval(drive: string, { lengthM, ...part }: InflowIntervalArgs): Promise<InflowInterval[]> {
    return this.drives.reading(drive, async (id, statements) => {
      const { lowM, highM } = await partOf(statements, id, part);
      const asked = [scope().project, drive, String(lengthM ?? USUAL_LENGTH_M), lowM, highM];
      return readRows(statements, INTERVALS, ...asked);
    });
  }

  ofHoles(drive: string): Promise<InflowOfHole[]> {
    return this.drives.read(drive, HOLES);
  }

  async total(drive: string): Promise<InflowTotal> {
    const [total] = await this.drives.read(drive, TOTAL);
    if (!total) throw notFound(`drive ${drive} in project ${scope().project}`);
    return { ...total, caution: INFLOW_CAUTION };
  }

  overTrigger(drive: string): Promise<InflowOverTrigger[]> {
    return this.drives.read(drive, OVER_TRIGGER);
  }
}

const absent = (drive: string, name: string): Error =>
  notFound(`measurement of inflow ${name} in drive ${drive}`);

/** The fields of each kind of place, and whether they are required. */
const OF_PLACE: {
  field: 'from' | 'to' | 'hole' | 'serviceWaterLPerMin';
  place: InflowPlace;
  needed: boolean;
}[] = [
  { field: 'from', place: InflowPlace.interval, needed: true },
  { field: 'to', place: InflowPlace.interval, needed: true },
  { field: 'hole', place: InflowPlace.hole, needed: true },
  { field: 'serviceWaterLPerMin', place: InflowPlace.portal, needed: false },
];

/** The measurement as stored. @throws ProblemError invalid with every fault of its place and size */
const placed = (input: InflowMeasurementInput, frame: DriveFrame) => {
  const faults: Fault[] = [];
  const note: Note = (pointer, value, detail) => {
    faults.push({ in: 'body', pointer, value, detail });
  };
  for (const { field, place, needed } of OF_PLACE) {
    const value = input[field];
    if (input.place === place && needed && value == null)
      note(`/${field}`, value, `a measurement of place ${place} needs ${field}`);
    if (input.place !== place && value != null)
      note(`/${field}`, value, `${field} is for place ${place}; this measurement is of place ${input.place}`);
  }
  const { from, to, serviceWaterLPerMin: service, flowLPerMin: flow } = input;
  const at = from != null && to != null ? drivenInterval({ from, to }, '', frame, note) : undefined;
  if (service != null && Number(service) > Number(flow))
    note(
      '/serviceWaterLPerMin',
      service,
      `serviceWaterLPerMin ${service} is more than flowLPerMin ${flow}, which contains it`,
    );
  if (faults.length > 0) throw faulty('invalid', faults);
  return {
    place: input.place,
    fromM: at ? metresText(at.fromMm) : null,
    toM: at ? metresText(at.toMm) : null,
    hole: input.hole ?? null,
    method: input.method,
    measuredAt: input.measuredAt,
    flowLPerMin: flow,
    serviceWaterLPerMin: service ?? null,
    measuredBy: input.measuredBy ?? null,
    remark: input.remark ?? null,
  };
};
