import { deepStrictEqual } from 'node:assert';
import os from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { type Comparison, PROJECT } from './comparisons.js';
import { SCALE } from './load.js';
import { type Part, PARTS } from './parts.js';
import { explainViews } from './plans.js';
import { markdown, type Results, summary, writeResults } from './report.js';
import { type Setting, startSetting } from './setting.js';
import { countStatements } from './statements.js';
import { payLargeDrive } from './valuation.js';

const say = (text: string): void => {
  process.stdout.write(`${text}\n`);
};

/** The rows of a drive without their ids, table by table, as one checksum. */
const SAME_ROWS = `select
  (select md5(string_agg((to_jsonb(b) - '{id,drive_id,shift_id}'::text[])::text, '' order by from_m)) from boring b where drive_id = $1) as boring,
  (select md5(string_agg((to_jsonb(a) - '{id,drive_id,shift_id}'::text[])::text, '' order by started_at)) from activity a where drive_id = $1) as activity,
  (select md5(string_agg((to_jsonb(r) - '{id,drive_id,shift_id}'::text[])::text, '' order by r.shift_id, line)) from support_installed r
    where drive_id = $1) as support,
  (select md5(string_agg((to_jsonb(g) - '{id,drive_id,shift_id}'::text[])::text, '' order by from_m)) from ground_interval g where drive_id = $1) as ground,
  (select md5(string_agg((to_jsonb(s) - '{id,drive_id,digest,posted_by,posted_for,submitted_at}'::text[])::text, '' order by starts_at)) from shift s where drive_id = $1) as shift`;

/** Checks that service and hand-written writer have left the same rows, and answer a page of strokes alike. */
const proveAlike = async ({ client, driveIds, ours, hand }: Setting): Promise<void> => {
  const rowsOf = async (driveId: number): Promise<unknown> => (await client.query(SAME_ROWS, [driveId])).rows;
  deepStrictEqual(await rowsOf(driveIds.OURS), await rowsOf(driveIds.HAND));
  const page = `drives/LARGE/strokes?first=${1000 * SCALE}&after=${5000 * SCALE}`;
  const parsed = async (answer: Promise<{ text: string }>): Promise<unknown> =>
    JSON.parse((await answer).text, (key, value: unknown) =>
      key.endsWith('At') && typeof value === 'string' ? new Date(value).toISOString() : value,
    );
  deepStrictEqual(
    await parsed(ours.send('GET', `${PROJECT}/${page}`)),
    await parsed(hand.send('GET', `/${page}`)),
  );
};

const USAGE = `npm run bench [-- PART … [--samples N]]

All parts, whose results are written; or those named, whose results are only summary: ${Object.keys(PARTS).join(', ')}.
BENCH_SCALE=0.05 scales the large drives down by that factor, to try the bench itself; its results are printed, not saved.
`;

/** The requested parts; all of them by default. */
const asked = (): { names: string[]; isWhole: boolean; samples?: number } => {
  try {
    const options = { samples: { type: 'string' } } as const;
    const { values, positionals } = parseArgs({ options, allowPositionals: true });
    const stranger = positionals.find((name) => !Object.hasOwn(PARTS, name));
    if (stranger !== undefined) throw new Error(`There is no part "${stranger}".`);
    const isWhole = positionals.length === 0;
    return {
      names: isWhole ? Object.keys(PARTS) : positionals,
      isWhole,
      samples: values.samples === undefined ? undefined : Number(values.samples),
    };
  } catch (error) {
    process.stderr.write(`${(error as Error).message}\n\n${USAGE}`);
    process.exit(2);
  }
};

const began = performance.now();
const { names, isWhole, samples } = asked();
const parts = names.map((name): [string, Part] => [name, PARTS[name] as Part]);

/** Runs the chosen parts in their order. */
const compareAll = async (setting: Setting, chosen: (part: Part) => boolean): Promise<Comparison[]> => {
  const comparisons: Comparison[] = [];
  for (const [name, { compare }] of parts.filter(([, part]) => chosen(part))) {
    say(`${name} …`);
    comparisons.push(...(await compare(setting, samples)));
    // before other parts write to only one of the two drives
    if (name === 'shift-put') await proveAlike(setting);
  }
  return comparisons;
};

/** Takes the remaining measurements, and writes everything down. */
const writeAll = async (setting: Setting, comparisons: Comparison[]): Promise<void> => {
  const { client, driveIds, loaded, databaseUrl } = setting;
  say('plans …');
  await payLargeDrive(client, driveIds.LARGE);
  const plans = await explainViews(client, driveIds.LARGE);
  say('counting statements …');
  const statements = await countStatements(databaseUrl);
  comparisons.push(...(await compareAll(setting, ({ fills }) => fills === true)));
  const { rows } = await client.query<{ version: string }>(
    `select current_setting('server_version') as version`,
  );
  const results: Results = {
    date: new Date().toISOString().slice(0, 10),
    command: 'npm run bench',
    node: process.versions.node,
    postgres: rows[0]?.version ?? '',
    durability: 'PostgreSQL as in production: fsync, synchronous_commit and full_page_writes on',
    cpus: os.cpus().length,
    seconds: (performance.now() - began) / 1000,
    loaded,
    comparisons,
    statements,
    plans,
  };
  if (SCALE === 1) writeResults(path.join(import.meta.dirname, 'results'), results);
  say(`\n${markdown(results)}`);
};

/** Does the work in a setting of its own. */
const within = async <T>(isLarge: boolean, work: (setting: Setting) => Promise<T>): Promise<T> => {
  const setting = await startSetting(say, isLarge);
  try {
    return await work(setting);
  } finally {
    await setting.stop();
  }
};

const isOfLarge = ({ isLarge }: Part): boolean => isLarge;
const isOfSmall = ({ isLarge }: Part): boolean => !isLarge;

const comparisons = parts.some(([, part]) => isOfSmall(part))
  ? await within(false, (setting) => compareAll(setting, isOfSmall))
  : [];
if (parts.some(([, part]) => isOfLarge(part)))
  await within(true, async (setting) => {
    comparisons.push(...(await compareAll(setting, ({ isLarge, fills }) => isLarge && fills !== true)));
    if (isWhole) return writeAll(setting, comparisons);
    comparisons.push(...(await compareAll(setting, ({ fills }) => fills === true)));
  });
if (!isWhole) say(`\n${summary(comparisons)}`);
