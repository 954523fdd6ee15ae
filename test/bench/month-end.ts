import type pg from 'pg';
import { interleave, spread, type Times, type Variant } from './compare.js';
import { type Comparison, milliseconds } from './comparisons.js';
import { blocksIn, cpuOf } from './plans.js';
import type { Setting } from './setting.js';
import { payLargeDrive } from './valuation.js';

/** Growth at most with this power of the drive's length. */
const EXPONENT = 1.1;

const DRAFT = `insert into valuation (drive_id, project_id, number, cut_off, state, prepared_by)
  select drive_id, min(project_id), 1, max(shift_date), 'draft', 'bench' from shift where drive_id = $1 group by drive_id on conflict do nothing`;

/** Up to the day $2, for the drive $1. */
const READINGS: Record<string, string> = {
  'draft, every record measured': 'select * from report.draft_line_in($1, $2, false)',
  'draft by kept sums': 'select * from report.draft_line_in($1, $2, true)',
  'sources of a line': `select * from report.draft_source_of($1, $2, 'BOLT')`,
  'sources of all lines': `select * from report.draft_source_of($1, $2, '')`,
  'measurement check': `select * from report.measure_check_of('P', (select code from drive where id = $1), $2)`,
};

/** Processor time of the session's backend, as the machine may have other work; without /proc elapsed time. [ms] */
const timed = async (client: pg.Client, pid: number, sql: string, values: unknown[]): Promise<number> => {
  const start = performance.now();
  const before = cpuOf(pid);
  await client.query(sql, values);
  const after = cpuOf(pid);
  return before === undefined || after === undefined ? performance.now() - start : after - before;
};

const notesOf = async (client: pg.Client, sql: string, values: unknown[]): Promise<string[]> => {
  const { rows } = await client.query<{ 'QUERY PLAN': string }>(
    `explain (analyze, buffers, wal, costs off, timing off) ${sql}`,
    values,
  );
  const text = rows.map((row) => row['QUERY PLAN']).join('\n');
  const { blocks, temporaryBlocks } = blocksIn(text);
  const wal = /WAL: .*bytes=(\d+)/.exec(text)?.[1] ?? '0';
  return [`${blocks} blocks read, ${temporaryBlocks} written to temporary files, ${wal} bytes of WAL`];
};

/** Month-end readings of the whole large drive against those of its first half: the ratio gives the exponent. */
export const compareMonthEnd = async (
  { client, driveIds, loaded }: Setting,
  session: pg.Client,
): Promise<Comparison[]> => {
  const drive = driveIds.LARGE;
  await payLargeDrive(client, drive);
  await client.query(DRAFT, [drive]);
  const { rows } = await client.query<{ middle: string; last: string }>(
    `select percentile_disc(0.5) within group (order by shift_date)::text as middle, max(shift_date)::text as last from shift where drive_id = $1`,
    [drive],
  );
  const { middle = '', last = '' } = rows[0] ?? {};
  await session.query(
    `select set_config('drivebook.project', (select project_id::text from drive where id = $1), false)`,
    [drive],
  );
  await session.query('select report_kept.keep_draft_sums($1, 0)', [drive]);
  const pid = (await session.query<{ pid: number }>('select pg_backend_pid() as pid')).rows[0]?.pid ?? 0;
  const comparisons: Comparison[] = [];
  for (const [what, sql] of Object.entries(READINGS)) {
    const cpu: Times = { all: [], half: [] };
    const asking = (name: string, until: string): Variant => ({
      name,
      prepare: () => async () => {
        cpu[name]?.push(await timed(session, pid, sql, [drive, until]));
      },
    });
    await interleave([asking('all', last), asking('half', middle)], 3, 1);
    const times = { all: cpu['all']?.slice(1) ?? [], half: cpu['half']?.slice(1) ?? [] }; // the first is the warm-up
    comparisons.push({
      what: `${what}, 20 km with ${loaded.supportLines} support lines`,
      measure: 'processor time of PostgreSQL, all of the drive / its first half',
      ratio: spread(times.all.map((time, round) => time / (times.half[round] ?? NaN))),
      target: { most: 2 ** EXPONENT },
      milliseconds: milliseconds(times),
      notes: await notesOf(session, sql, [drive, last]),
    });
  }
  return comparisons;
};
