import type pg from 'pg';
import { interleave, ratio, type Spread, spread, type Times, type Variant } from './compare.js';
import type { Connection } from './processes.js';
import type { DriveCode, Setting } from './setting.js';
import { Face } from './shift-maker.js';
import { LARGE } from './load.js';

export interface Comparison {
  what: string;
  /** Numerator and denominator of the ratio. */
  measure: string;
  ratio: Spread;
  /** The same ratio between two instances of the reference. */
  control?: Spread;
  target: { least: number } | { most: number };
  milliseconds: Record<string, Spread>;
  notes?: string[];
}

export const milliseconds = (times: Times): Record<string, Spread> =>
  Object.fromEntries(Object.entries(times).map(([name, values]) => [name, spread(values)]));

const putting = (
  name: string,
  connection: Connection,
  base: string,
  drive: DriveCode,
  face: Face,
): Variant => ({
  name,
  prepare: () => {
    const { date, shift, body } = face.next();
    const text = JSON.stringify(body);
    return () => connection.send('PUT', `${base}/drives/${drive}/shifts/${date}/${shift}`, text);
  },
});

export const asking = (name: string, send: () => Promise<unknown>): Variant => ({
  name,
  prepare: () => send,
});

export const PROJECT = '/v1/projects/P';

export const compareShiftPuts = async ({ ours, hand, control }: Setting): Promise<Comparison> => {
  const start = (): Face => new Face(0, 0, 0);
  const times = await interleave(
    [
      putting('service', ours, PROJECT, 'OURS', start()),
      putting('hand-written', hand, '', 'HAND', start()),
      putting('control', control, '', 'CONTROL', start()),
    ],
    16,
    10,
  );
  return {
    what: 'shift PUT: 8 borings, 20 activities, 60 support rows, 2 ground notes; drives that grow',
    measure: 'throughput, service / hand-written',
    ratio: ratio(times, 'hand-written', 'service'),
    control: ratio(times, 'hand-written', 'control'),
    target: { least: 0.5 },
    milliseconds: milliseconds(times),
  };
};

export const compareGrowth = async ({ ours }: Setting): Promise<Comparison> => {
  const atFace = new Face(LARGE.shifts, LARGE.strokes, LARGE.lengthMm);
  const times = await interleave(
    [
      putting('12,000 strokes', ours, PROJECT, 'LARGE', atFace),
      putting('new drive', ours, PROJECT, 'NEW', new Face(0, 0, 0)),
    ],
    12,
    5,
  );
  return {
    what: 'shift PUT at the face of a drive of 12,000 strokes',
    measure: 'time, large drive / new drive',
    ratio: ratio(times, '12,000 strokes', 'new drive'),
    target: { most: 1.3 },
    milliseconds: milliseconds(times),
  };
};

export const compareStrokeLists = async ({ ours, hand, control }: Setting): Promise<Comparison> => {
  let round = 0;
  const page = (): string => `strokes?first=1000&after=${(round++ * 997) % 11_000}`;
  const times = await interleave(
    [
      asking('service', () => ours.send('GET', `${PROJECT}/drives/LARGE/${page()}`)),
      asking('hand-written', () => hand.send('GET', `/drives/LARGE/${page()}`)),
      asking('control', () => control.send('GET', `/drives/LARGE/${page()}`)),
    ],
    16,
    8,
  );
  return {
    what: 'list of 1,000 strokes of a drive of 12,000',
    measure: 'throughput, service / hand-written',
    ratio: ratio(times, 'hand-written', 'service'),
    control: ratio(times, 'hand-written', 'control'),
    target: { least: 0.7 },
    milliseconds: milliseconds(times),
  };
};

/** Progress of the large drive, over one connection each. */
export const compareProgress = async ({ ours, hand, control }: Setting): Promise<Comparison> => {
  const times = await interleave(
    [
      asking('service', () => ours.send('GET', `${PROJECT}/drives/LARGE/progress`)),
      asking('hand-written', () => hand.send('GET', '/drives/LARGE/progress')),
      asking('control', () => control.send('GET', '/drives/LARGE/progress')),
    ],
    16,
    20,
  );
  return {
    what: 'GET …/progress of a drive of 12,000 strokes',
    measure: 'throughput, service / hand-written',
    ratio: ratio(times, 'hand-written', 'service'),
    control: ratio(times, 'hand-written', 'control'),
    target: { least: 0.9 },
    milliseconds: milliseconds(times),
  };
};

const FIGURES = 'advance_m, stroke_count, boring_hours, from_chainage_m, face_chainage_m, cumulative_m';

/** Readings of the service from views, as a PostgreSQL client would send them. */
export const VIEW_QUERIES: Record<string, string> = {
  'advance/days': `select production_day, ${FIGURES} from report.day_advance where drive_id = $1 order by production_day`,
  'advance/shifts': `select shift_date, shift_name, state, starts_at, ends_at, ${FIGURES} from report.shift_advance where drive_id = $1 order by starts_at`,
  progress: `select face_chainage_m, face_m, bored_m, missing_m, remaining_m, untimed_m, stroke_count, last_bored_at
    from report.drive_progress where drive_id = $1`,
  'ledger/pareto': `select rank, code, description, counts_as, seconds, hours, share, cumulative_share, activity_count, mean_hours, longest_hours
    from report.ledger_pareto where drive_id = $1 order by rank`,
  'strokes/statistics': `select * from report.stroke_statistics_by_drive where drive_id = $1 order by place`,
};

export const compareView = async (
  { ours, client, driveIds }: Setting,
  second: pg.Client,
  path: string,
  requests: number,
  most: number,
): Promise<Comparison> => {
  const sql = VIEW_QUERIES[path] ?? '';
  const times = await interleave(
    [
      asking('service', () => ours.send('GET', `${PROJECT}/drives/LARGE/${path}`)),
      asking('bare SQL', () => client.query(sql, [driveIds.LARGE])),
      asking('control', () => second.query(sql, [driveIds.LARGE])),
    ],
    10,
    requests,
  );
  return {
    what: `GET …/${path} of a drive of 12,000 strokes, 2,200 shifts`,
    measure: 'time, service / bare SQL of the view',
    ratio: ratio(times, 'service', 'bare SQL'),
    control: ratio(times, 'control', 'bare SQL'),
    target: { most },
    milliseconds: milliseconds(times),
  };
};

/** Reports on a whole drive and on a part of it, by SQL: $1 is the drive. */
const REPORTS: Record<string, string> = {
  ...VIEW_QUERIES,
  'strokes, a page': `select * from report.stroke where drive_id = $1 and stroke_number > 6000 order by stroke_number limit 1000`,
  'open items': `select * from report.open_item where drive_id = $1`,
  'support by day': `select * from report.support_by_day where drive_id = $1`,
  'support by ground class': `select * from report.support_by_ground_class where drive_id = $1`,
  'support by 10 m': `select * from report.support_in_intervals('P', 'LARGE', 10) where drive_id = $1`,
  'as built, 100 m': `select * from report.as_built('P', 'LARGE', 11000, 11100) where $1 > 0`,
};

/** Executions of a prepared statement for which PostgreSQL plans anew; from then on it may keep one plan, as on a connection of the service. */
const PLANNED_ANEW = 5;

/** The same SQL as the service's role in its scope, and as the owner of the tables, who is not subject to policies. */
export const compareScope = async (
  { client, driveIds, projectId }: Setting,
  scoped: pg.Client,
): Promise<Comparison[]> => {
  await scoped.query(`select set_config('drivebook.project', $1, false)`, [String(projectId)]);
  const comparisons: Comparison[] = [];
  for (const [what, sql] of Object.entries(REPORTS)) {
    for (const session of [scoped, client])
      for (let n = 0; n < PLANNED_ANEW; n += 1)
        await session.query({ name: what, text: sql, values: [driveIds.LARGE] });
    const times = await interleave(
      [
        asking('in scope', () => scoped.query({ name: what, text: sql, values: [driveIds.LARGE] })),
        asking('as owner', () => client.query({ name: what, text: sql, values: [driveIds.LARGE] })),
      ],
      6,
      1,
    );
    comparisons.push({
      what: `${what}: SQL under row-level security`,
      measure: 'time, in scope / as owner',
      ratio: ratio(times, 'in scope', 'as owner'),
      target: { most: 1.2 },
      milliseconds: milliseconds(times),
    });
  }
  return comparisons;
};

const READS = [
  'progress',
  'strokes?first=1000&after=6000',
  'advance/days',
  'advance/shifts',
  'support-quantities',
  'support-quantities/ground-classes',
  'as-built?from=11000&to=11100',
  'open-items',
];

/** Readings of the large drive as of the moment it was loaded, and of its current state. */
export const compareAsOf = async ({ ours, loadedAt }: Setting): Promise<Comparison[]> => {
  const comparisons: Comparison[] = [];
  for (const path of READS) {
    const url = `${PROJECT}/drives/LARGE/${path}`;
    const asOf = `${url}${path.includes('?') ? '&' : '?'}asOf=${loadedAt}`;
    const times = await interleave(
      [asking('as of', () => ours.send('GET', asOf)), asking('now', () => ours.send('GET', url))],
      6,
      1,
    );
    comparisons.push({
      what: `GET …/${path}, as of a moment`,
      measure: 'time, as of / now',
      ratio: ratio(times, 'as of', 'now'),
      target: { most: 3 },
      milliseconds: milliseconds(times),
    });
  }
  return comparisons;
};
