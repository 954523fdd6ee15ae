import { Injectable } from '@nestjs/common';
import { partOf } from '../../../common/api/chainage-window.js';
import { afterMoment, cursorBy } from '../../../common/api/cursor.js';
import { type Keyed, keyedPage, USUAL_PAGE } from '../../../common/api/paging.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { drivenInterval, type Note } from '../../../common/drive-interval.js';
import { InflowPlace } from '../../../generated/prisma/enums.js';
import { metresText } from '../../../engineering/chainage.js';
import {
  INFLOW_CAUTION,
  type InflowInterval,
  type InflowIntervalArgs,
  type InflowMeasurement,
  type InflowMeasurementInput,
  type InflowMeasurementPage,
  type InflowOfHole,
  type InflowOverTrigger,
  type TimedPageArgs,
  type InflowStretch,
  type InflowTotal,
} from './inflow.models.js';

/** Of inflow. */
export const INFLOW_COLUMNS = `name, place, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, hole, method, measured_at as "measuredAt",
  flow_l_per_min::text as "flowLPerMin", service_water_l_per_min::text as "serviceWaterLPerMin", inflow_l_per_min::text as "inflowLPerMin",
  measured_by as "measuredBy", remark`;

const ONE = `select ${INFLOW_COLUMNS} from inflow where drive_id = $1 and name = $2`;

const PAGE = `select ${INFLOW_COLUMNS}, ${cursorBy({ moment: 'measured_at' }, 'name')} as cursor from inflow where drive_id = $1 and (measured_at, name) > ($2::timestamptz, $3) order by measured_at, name limit $4`;

const STRETCHES = `select chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM", measurement, method,
  measured_at as "measuredAt", inflow_l_per_min::text as "inflowLPerMin", cumulated_l_per_min::text as "cumulatedLPerMin",
  superseded_count as "supersededCount", overlapped from inflow_stretch where drive_id = $1 order by from_m`;

const INTERVALS = `select chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, measured_m::text as "measuredM", gap_m::text as "gapM",
  inflow_l_per_min::text as "inflowLPerMin", per_100m_l_per_min::text as "per100mLPerMin", cumulated_l_per_min::text as "cumulatedLPerMin",
  measured_at as "measuredAt" from inflow_in_intervals($1, $2, $3::numeric) where to_m > $4::numeric and from_m < $5::numeric order by from_m`;

const HOLES = `select hole, inflow_l_per_min::text as "inflowLPerMin", measured_at as "measuredAt", measurement, method
  from inflow_of_hole where drive_id = $1 order by hole`;

const TOTAL = `select inflow_l_per_min::text as "inflowLPerMin", measured_m::text as "measuredM", gap_m::text as "gapM", portal_measurement as "portalMeasurement",
  portal_measured_at as "portalMeasuredAt", portal_flow_l_per_min::text as "portalFlowLPerMin", portal_inflow_l_per_min::text as "portalInflowLPerMin",
  difference_l_per_min::text as "differenceLPerMin", total_l_per_min::text as "totalLPerMin", to_pump_l_per_min::text as "toPumpLPerMin",
  pumping_l_per_min::text as "pumpingLPerMin", reserve_l_per_min::text as "reserveLPerMin", pumping_used_percent::text as "pumpingUsedPercent"
  from inflow_total where drive_id = $1`;

const OVER_TRIGGER = `select kind, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, hole, inflow_l_per_min::text as "inflowLPerMin",
  trigger_l_per_min::text as "triggerLPerMin", measured_at as "measuredAt" from inflow_over_trigger where drive_id = $1 order by kind, from_m, hole`;

const USUAL_LENGTH_M = 100;

/** Water that flows into a drive. */
@Injectable()
export class InflowService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  page(drive: string, { first, after }: TimedPageArgs): Promise<InflowMeasurementPage> {
    const size = first ?? USUAL_PAGE;
    return this.drives.reading(drive, async (id, statements) => {
      const { at, name } = afterMoment(after);
      const rows = await readRows<Keyed<InflowMeasurement>>(statements, PAGE, id, at, name, size + 1);
      return keyedPage(rows, size);
    });
  }

  async get(drive: string, name: string): Promise<InflowMeasurement> {
    const [found] = await this.drives.read<InflowMeasurement>(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return found;
  }

  async put(drive: string, name: string, input: InflowMeasurementInput): Promise<InflowMeasurement> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const values = placed(input, await driveFrame(transaction, id));
      const where = { driveId_name: { driveId: id, name } };
      await transaction.inflowMeasurement.upsert({
        where,
        create: { driveId: id, name, ...values },
        update: values,
      });
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const { count } = await transaction.inflowMeasurement.deleteMany({ where: { driveId: id, name } });
      if (count === 0) throw absent(drive, name);
    });
  }

  stretches(drive: string): Promise<InflowStretch[]> {
    return this.drives.read<InflowStretch>(drive, STRETCHES);
  }

  /** Of the intervals that reach into the part, each whole. */
  byInterval(drive: string, { lengthM, ...part }: InflowIntervalArgs): Promise<InflowInterval[]> {
    return this.drives.reading(drive, async (id, statements) => {
      const { lowM, highM } = await partOf(statements, id, part);
      const asked = [scope().project, drive, String(lengthM ?? USUAL_LENGTH_M), lowM, highM];
      return readRows<InflowInterval>(statements, INTERVALS, ...asked);
    });
  }

  ofHoles(drive: string): Promise<InflowOfHole[]> {
    return this.drives.read<InflowOfHole>(drive, HOLES);
  }

  async total(drive: string): Promise<InflowTotal> {
    const [total] = await this.drives.read<Omit<InflowTotal, 'caution'>>(drive, TOTAL);
    if (!total) throw notFound(`drive ${drive} in project ${scope().project}`);
    return { ...total, caution: INFLOW_CAUTION };
  }

  overTrigger(drive: string): Promise<InflowOverTrigger[]> {
    return this.drives.read<InflowOverTrigger>(drive, OVER_TRIGGER);
  }
}

const absent = (drive: string, name: string): Error =>
  notFound(`measurement of inflow ${name} in drive ${drive}`);

/** The fields that belong to one kind of place, and whether it needs them. */
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
