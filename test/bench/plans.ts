import { existsSync, readFileSync } from 'node:fs';
import type pg from 'pg';
import { VIEW_QUERIES } from './comparisons.js';

export interface Plan {
  what: string;
  milliseconds: number;
  /** Processor time of the backend, including planning and explaining; undefined where /proc does not report it. */
  cpuMilliseconds?: number;
  /** Blocks of 8 kB touched, and those written to temporary files. */
  blocks: number;
  temporaryBlocks: number;
  text: string;
}

const BY_CODE = `project_code = 'P' and drive_code = 'LARGE'`;

const queries = (driveId: number, shiftId: number): Record<string, string> => ({
  ...Object.fromEntries(
    Object.entries(VIEW_QUERIES).map(([path, sql]) => [path, sql.replace('$1', String(driveId))]),
  ),
  'advance/days by code': `select * from report.day_advance where ${BY_CODE} order by production_day`,
  'advance/shifts by code': `select * from report.shift_advance where ${BY_CODE} order by starts_at`,
  'strokes, a page': `select * from report.stroke where drive_id = ${driveId} and stroke_number > 6000 order by stroke_number limit 1001`,
  'open items of the drive': `select * from report.open_item where drive_id = ${driveId}`,
  'open items of a shift': `select * from report.open_item where shift_id = ${shiftId}`,
  'support total': `select * from report.support_total where drive_id = ${driveId}`,
  'support by day': `select * from report.support_by_day where drive_id = ${driveId}`,
  'support by ground class': `select * from report.support_by_ground_class where drive_id = ${driveId}`,
  'support by 10 m': `select * from report.support_in_intervals('P', 'LARGE', 10)`,
  'missing support by 10 m': `select * from report.missing_support('P', 'LARGE', 10)`,
  'unsupported length': `select * from report.unsupported_length('P', 'LARGE')`,
  'before the next stroke': `select * from report.before_next_stroke('P', 'LARGE', 1.7)`,
  'draft of a valuation': `select * from report.draft_line_of(${driveId}, 'infinity')`,
  'sources of one of its lines': `select * from report.draft_source_of(${driveId}, 'infinity', 'BOLT')`,
  'measurement check': `select * from report.measure_check_of('P', 'LARGE', 'infinity')`,
  'as built, 100 m': `select * from report.as_built('P', 'LARGE', 11000, 11100)`,
  'probe cover': `select * from report.probe_cover where drive_id = ${driveId}`,
});

const TICKS_PER_SECOND = 100;

/** Processor time of a backend so far, on this machine. [ms] */
export const cpuOf = (pid: number): number | undefined => {
  const file = `/proc/${pid}/stat`;
  if (!existsSync(file)) return undefined;
  const fields = readFileSync(file, 'utf8').split(') ').at(-1)?.split(' ') ?? [];
  return ((Number(fields[11]) + Number(fields[12])) * 1000) / TICKS_PER_SECOND;
};

/** Of the topmost node, which includes those below. */
export const blocksIn = (text: string): Pick<Plan, 'blocks' | 'temporaryBlocks'> => {
  const [line = ''] = /Buffers: .*/.exec(text) ?? [];
  const number = (pattern: RegExp): number => Number(pattern.exec(line)?.[1] ?? 0);
  return {
    blocks: number(/shared hit=(\d+)/) + number(/shared (?:hit=\d+ )?read=(\d+)/),
    temporaryBlocks: number(/temp .*written=(\d+)/),
  };
};

/** EXPLAIN (ANALYZE) of the views on the large drive, which has a copy as neighbour. */
export const explainViews = async (client: pg.Client, driveId: number): Promise<Plan[]> => {
  const { rows } = await client.query<{ id: number }>(
    'select id from shift where drive_id = $1 order by starts_at offset 1000 limit 1',
    [driveId],
  );
  const plans: Plan[] = [];
  await client.query(`set statement_timeout = '30s'`);
  const backend = (await client.query<{ pid: number }>('select pg_backend_pid() as pid')).rows[0]?.pid ?? 0;
  for (const [what, sql] of Object.entries(queries(driveId, rows[0]?.id ?? 0))) {
    const before = cpuOf(backend);
    try {
      const answer = await client.query<{ 'QUERY PLAN': string }>(
        `explain (analyze, buffers, costs off, timing off) ${sql}`,
      );
      const text = answer.rows.map((row) => row['QUERY PLAN']).join('\n');
      const milliseconds = Number(/Execution Time: ([\d.]+)/.exec(text)?.[1]);
      const after = cpuOf(backend);
      const cpu = before === undefined || after === undefined ? {} : { cpuMilliseconds: after - before };
      plans.push({ what, milliseconds, ...cpu, ...blocksIn(text), text });
    } catch (error) {
      plans.push({
        what,
        milliseconds: NaN,
        blocks: NaN,
        temporaryBlocks: NaN,
        text: (error as Error).message,
      });
    }
  }
  await client.query('reset statement_timeout');
  return plans;
};
