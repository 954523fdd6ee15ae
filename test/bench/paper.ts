import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import type pg from 'pg';
import { spread } from './compare.js';
import { type Comparison, PROJECT } from './comparisons.js';
import { LARGE, SCALE } from './load.js';
import { backendsOf, postmasterOf, ranFor } from './processor-time.js';
import type { Setting } from './setting.js';

interface Goal {
  what: string;
  path: string;
  /** [ms] */
  wall: number;
  /** Resident memory of the service at its peak. [MB] */
  resident?: number;
  rounds: number;
}

/** Half of the drive: 10 km. [m] */
const HALF = Math.min(10_000, LARGE.lengthMm / 1000);

const DRIVE = `${PROJECT}/drives/LARGE`;

/** The one with a memory goal comes first, because a peak stays. */
const GOALS: Goal[] = [
  {
    what: `as-built record of ${HALF / 1000} km as PDF`,
    path: `${DRIVE}/as-built/strip.pdf?from=1000&to=${1000 + HALF}`,
    ...{ wall: 10_000, resident: 400, rounds: 3 },
  },
  {
    what: `the same of ${Math.min(500, HALF)} m`,
    path: `${DRIVE}/as-built/strip.pdf?from=1000&to=${1000 + Math.min(500, HALF)}`,
    ...{ wall: 2000, rounds: 5 },
  },
  { what: 'report of a day as PDF', path: `${DRIVE}/daily-reports/2020-02-01.pdf`, wall: 300, rounds: 7 },
  ...['strokes', 'time-chainage', 'advance'].map((name): Goal => ({
    what: `diagram ${name} of ${LARGE.strokes} strokes`,
    path: `${DRIVE}/diagrams/${name}.svg`,
    ...{ wall: 400, rounds: 7 },
  })),
  { what: 'page of the drive', path: '/projects/P/drives/LARGE', wall: 1000, rounds: 7 },
];

const TICK_MS = 10;

/** Processor time of processes that have ended: parallel workers. [ms] */
const endedOf = (postmaster: number): number => {
  const [user = '', system = ''] = (readFileSync(`/proc/${postmaster}/stat`, 'utf8').split(') ').at(-1) ?? '')
    .split(' ')
    .slice(13, 15);
  return (Number(user) + Number(system)) * TICK_MS;
};

/** Highest resident memory of a process so far; NaN for one that has ended. [MB] */
export const peakOf = (pid: number): number =>
  Number(/VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? NaN) / 1024;

/** Paper and pictures against their goals: elapsed time, with processor time beside it, and memory. Nothing is measured where Linux does not report it. */
export const comparePaper = async (
  { ours, service, client, driveIds }: Setting,
  session: pg.Client,
): Promise<Comparison[]> => {
  if (!existsSync('/proc/self/clear_refs')) return [];
  const pid = service.pid ?? 0;
  const postmaster = await postmasterOf(session);
  await client.query('select report_kept.keep_judgement($1)', [driveIds.LARGE]); // as the service caches it for a drive that is read
  const comparisons: Comparison[] = [];
  for (const { what, path, wall, resident, rounds } of GOALS) {
    const times: Record<'wall' | 'service' | 'PostgreSQL', number[]> = {
      wall: [],
      service: [],
      PostgreSQL: [],
    };
    const peaks: number[] = [];
    for (let round = 0; round <= rounds; round += 1) {
      writeFileSync(`/proc/${pid}/clear_refs`, '5'); // the peak is measured from here
      const before = new Map(backendsOf(postmaster).map((each) => [each, ranFor(each)]));
      const [began, ran, ended] = [performance.now(), ranFor(pid), endedOf(postmaster)];
      await ours.send('GET', path);
      const took = performance.now() - began;
      if (round === 0 && resident === undefined) continue; // warm-up
      peaks.push(peakOf(pid));
      if (round === 0) continue;
      times.wall.push(took);
      times.service.push(ranFor(pid) - ran);
      times.PostgreSQL.push(
        backendsOf(postmaster).reduce(
          (sum, each) => sum + ranFor(each) - (before.get(each) ?? 0),
          endedOf(postmaster) - ended,
        ),
      );
    }
    const milliseconds = Object.fromEntries(Object.entries(times).map(([name, all]) => [name, spread(all)]));
    comparisons.push({
      ...{ what, measure: `time / ${wall} ms`, ratio: spread(times.wall.map((time) => time / wall)) },
      ...{ target: { most: 1 }, milliseconds },
    });
    if (resident !== undefined)
      comparisons.push({
        ...{ what, measure: `resident memory of the service at its peak / ${resident} MB` },
        ...{ ratio: spread(peaks.map((peak) => peak / resident)), target: { most: 1 }, milliseconds: {} },
        notes: [`${peaks.map((peak) => Math.round(peak)).join(', ')} MB, the first request included`],
      });
  }
  await client.query('delete from kept.judgement');
  if (SCALE !== 1) for (const each of comparisons) (each.notes ??= []).push(`drives scaled by ${SCALE}`);
  return comparisons;
};
