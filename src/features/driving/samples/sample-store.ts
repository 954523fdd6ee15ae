import { Injectable } from '@nestjs/common';
import { analyseGrown } from '../../../common/database/analyse.js';
import { Database } from '../../../common/database/database.js';
import { scopedProject } from '../../../common/database/scope.js';
import { metresText } from '../../../engineering/chainage.js';
import type { SampleRow } from './sample-rows.js';

const COLUMNS = `thrust_kn, torque_knm, rotation_rpm, penetration_rate_mm_per_min, gripper_pressure_bar, muck_flow_t_per_h`;

const PUT_IN = `insert into machine_sample (project_id, drive_id, at, position_m, ${COLUMNS})
  select $1, $2, at, position_m, ${COLUMNS}
  from unnest($3::timestamptz[], $4::numeric[], $5::float8[], $6::float8[], $7::float8[], $8::float8[], $9::float8[], $10::float8[])
    as r(at, position_m, ${COLUMNS})
  on conflict (drive_id, at) do nothing`;

const MAKE_MONTH = `select make_sample_month($1::date)`;

const READINGS = 6;

/** An array in PostgreSQL's notation; the driver would quote and escape each figure. */
const arrayText = (values: (number | string | null)[]): string =>
  `{${values.map((value) => value ?? 'NULL').join()}}`;

/** The months of the rows, each by its first day; rows of a month are consecutive. */
export const monthsOf = (rows: SampleRow[]): Set<string> => {
  const months = new Set<string>();
  let [from, to] = [0, 0];
  for (const { atMs } of rows) {
    if (atMs >= from && atMs < to) continue;
    const at = new Date(atMs);
    const [year, month] = [at.getUTCFullYear(), at.getUTCMonth()];
    [from, to] = [Date.UTC(year, month), Date.UTC(year, month + 1)];
    months.add(new Date(from).toISOString().slice(0, 10));
  }
  return months;
};

/** Inserts samples into the table, many per statement. */
@Injectable()
export class SampleStore {
  constructor(private readonly database: Database) {}

  /** Creates the tables of months, each given by its first day; existing ones stay. */
  async makeMonths(months: string[]): Promise<void> {
    for (const month of months) await this.database.bulk((send) => send(MAKE_MONTH, month));
  }

  /** @returns how many were new; existing ones are left unchanged */
  async put(driveId: number, rows: SampleRow[]): Promise<number> {
    rows.sort((a, b) => a.atMs - b.atMs); // fixed lock order for concurrent uploads of the same samples
    const columns = [
      arrayText(rows.map(({ atMs }) => new Date(atMs).toISOString())),
      arrayText(rows.map(({ positionMm }) => metresText(positionMm))),
      ...Array.from({ length: READINGS }, (_, place) =>
        arrayText(rows.map(({ readings }) => readings[place] ?? null)),
      ),
    ];
    const { rowCount } = await this.database.bulk((send) =>
      send(PUT_IN, scopedProject(), driveId, ...columns),
    );
    return rowCount ?? 0;
  }
  /** After an upload: updates the planner's statistics. */
  analyse(): Promise<void> {
    return analyseGrown(this.database);
  }
}
