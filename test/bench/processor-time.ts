import { existsSync, readdirSync, readFileSync } from 'node:fs';
import type pg from 'pg';
import { spread } from './compare.js';
import { type Comparison, PROJECT } from './comparisons.js';
import { withNothingKept } from './missing-support.js';
import type { Server } from './processes.js';
import type { Setting } from './setting.js';
import { payLargeDrive } from './valuation.js';

/** Goals for the processor time of a reading of 20 km with 120,000 support lines, service and PostgreSQL together. [ms] */
const GOALS: Record<string, number> = {
  progress: 10,
  'advance/days': 60,
  'ledger/pareto': 300,
  'ledger/utilisation': 300,
  'strokes/statistics': 400,
  'open-items': 200,
  'support-quantities/days': 400,
  'support-quantities/ground-classes': 400,
  'support-quantities/intervals?lengthM=10': 400,
  'measurement-check?until=2099-12-31': 2000,
  'valuations/1': 2000,
  'valuations/1/lines/BOLT/sources?first=1000': 2000,
  'valuations/1/intervals?lengthM=100': 2000,
  'valuations/1/export.xlsx': 2000,
  'missing-support?lengthM=10': 600,
  'daily-reports/2020-02-01': 300,
  'daily-reports/2020-02-01.pdf': 300,
  'unsupported-length': 50,
  'before-next-stroke?strokeLengthM=1.7': 50,
};

/** These read the cached assessment; they come last, because the next write invalidates it. */
const KEPT = ['missing-support', 'unsupported-length', 'before-next-stroke'];

/** Goal for these without a cached assessment, as after a change of a standard. [ms] */
const COLD_MS = 600;

/** More than five: from the sixth execution on a connection may use a generic plan. */
const ROUNDS = 7;

const DRAFT = `insert into valuation (drive_id, project_id, number, cut_off, state, prepared_by)
  select drive_id, min(project_id), 1, max(shift_date), 'draft', 'bench' from shift where drive_id = $1 group by drive_id on conflict do nothing`;

/** CPU time of the threads of a process, by the Linux scheduler; 0 for one that has ended. [ms] */
export const ranFor = (pid: number): number => {
  try {
    return readdirSync(`/proc/${pid}/task`).reduce(
      (sum, thread) =>
        sum + Number(readFileSync(`/proc/${pid}/task/${thread}/schedstat`, 'utf8').split(' ')[0]) / 1e6,
      0,
    );
  } catch {
    return 0;
  }
};

const parentOf = (pid: number): number =>
  Number(readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ').at(-1)?.split(' ')[1]);

/** Backends of the bench's database, without background writers. */
export const backendsOf = (postmaster: number): number[] =>
  readFileSync(`/proc/${postmaster}/task/${postmaster}/children`, 'utf8')
    .trim()
    .split(' ')
    .map(Number)
    .filter((pid) => {
      try {
        return / bench |parallel worker/.test(readFileSync(`/proc/${pid}/cmdline`, 'utf8'));
      } catch {
        return false;
      }
    });

/** The postmaster of a session's backend. */
export const postmasterOf = async (session: pg.Client): Promise<number> =>
  parentOf((await session.query<{ pid: number }>('select pg_backend_pid() as pid')).rows[0]?.pid ?? 0);

/** Whether this machine reports CPU time of processes. */
export const saysProcessorTime = (): boolean => existsSync('/proc/self/schedstat');

/** For one piece of work. [ms] */
export interface ProcessorTime {
  node: number;
  postgres: number;
}

/** Processor time of a server and PostgreSQL for a piece of work. @param session  a connection to that PostgreSQL */
export const processorTime = async (
  session: pg.Client,
  { pid = 0 }: Server,
  work: () => Promise<unknown>,
): Promise<ProcessorTime> => {
  const postmaster = await postmasterOf(session);
  const node = ranFor(pid);
  const before = new Map(backendsOf(postmaster).map((each) => [each, ranFor(each)]));
  await work();
  const postgres = backendsOf(postmaster).reduce(
    (sum, each) => sum + ranFor(each) - (before.get(each) ?? 0),
    0,
  );
  return { node: ranFor(pid) - node, postgres };
};

/** Processor time of a reading by the service, against its goal [ms]. The first is the warm-up and not counted. */
export const processorTimeOf = async (
  { ours, service }: Setting,
  session: pg.Client,
  path: string,
  goal: number,
  what = `GET …/${path.replace(/^\w+\//, '')} of 20 km`,
): Promise<Comparison> => {
  const times: Record<'service' | 'PostgreSQL' | 'both', number[]> = {
    service: [],
    PostgreSQL: [],
    both: [],
  };
  for (let round = 0; round <= ROUNDS; round += 1) {
    const { node, postgres } = await processorTime(session, service, () =>
      ours.send('GET', `${PROJECT}/drives/${path}`),
    );
    if (round === 0) continue; // warm-up
    times.service.push(node);
    times.PostgreSQL.push(postgres);
    times.both.push(node + postgres);
  }
  return {
    what,
    measure: `processor time of service and PostgreSQL / ${goal} ms`,
    ratio: spread(times.both.map((time) => time / goal)),
    target: { most: 1 },
    milliseconds: { service: spread(times.service), PostgreSQL: spread(times.PostgreSQL) },
  };
};

/** Processor time of readings against their goals. Nothing is reported where Linux does not report it. */
export const compareProcessorTime = async (setting: Setting, session: pg.Client): Promise<Comparison[]> => {
  if (!saysProcessorTime()) return [];
  const { client, driveIds, projectId } = setting;
  await payLargeDrive(client, driveIds.LARGE);
  await client.query(DRAFT, [driveIds.LARGE]);
  await session.query(`select set_config('drivebook.project', $1, false)`, [String(projectId)]);
  const comparisons: Comparison[] = [];
  await withNothingKept(client, session, async () => {
    for (const path of ['missing-support?lengthM=10', 'before-next-stroke?strokeLengthM=1.7'])
      comparisons.push(
        await processorTimeOf(
          setting,
          client,
          `LARGE/${path}`,
          COLD_MS,
          `GET …/${path} of 20 km, nothing kept`,
        ),
      );
  });
  for (const [path, goal] of Object.entries(GOALS)) {
    if (KEPT.some((kept) => path.startsWith(kept)))
      await session.query('select report_kept.keep_judgement($1)', [driveIds.LARGE]);
    comparisons.push(await processorTimeOf(setting, session, `LARGE/${path}`, goal));
  }
  await client.query('delete from kept.judgement');
  return comparisons;
};
