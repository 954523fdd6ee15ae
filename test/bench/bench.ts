import { deepStrictEqual } from 'node:assert';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import {
  type Comparison,
  compareAsOf,
  compareGrowth,
  compareScope,
  compareShiftPuts,
  compareStrokeLists,
  compareView,
  PROJECT,
} from './comparisons.js';
import { compareMissing, compareMissingGrowth } from './missing-support.js';
import { explainViews } from './plans.js';
import { markdown, type Results, writeResults } from './report.js';
import { type Setting, startSetting } from './setting.js';
import { countStatements } from './statements.js';

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
  (select md5(string_agg((to_jsonb(s) - '{id,drive_id,digest,posted_by}'::text[])::text, '' order by starts_at)) from shift s where drive_id = $1) as shift`;

/** The service and the hand-written writer have left the same rows; they answer a page of strokes alike. */
const proveAlike = async ({ client, driveIds, ours, hand }: Setting): Promise<void> => {
  const rowsOf = async (driveId: number): Promise<unknown> => (await client.query(SAME_ROWS, [driveId])).rows;
  deepStrictEqual(await rowsOf(driveIds.OURS), await rowsOf(driveIds.HAND));
  const page = 'drives/LARGE/strokes?first=1000&after=5000';
  const parsed = async (answer: Promise<{ text: string }>): Promise<unknown> =>
    JSON.parse((await answer).text, (key, value: unknown) =>
      key.endsWith('At') && typeof value === 'string' ? new Date(value).toISOString() : value,
    );
  deepStrictEqual(
    await parsed(ours.send('GET', `${PROJECT}/${page}`)),
    await parsed(hand.send('GET', `/${page}`)),
  );
};

const compareAll = async (setting: Setting): Promise<Comparison[]> => {
  const second = new pg.Client({ connectionString: setting.databaseUrl, options: '-c timezone=UTC' });
  await second.connect();
  const scoped = new pg.Client({
    connectionString: setting.databaseUrl,
    options: '-c timezone=UTC -c role=drivebook_app -c search_path=report,public',
  });
  await scoped.connect();
  try {
    const comparisons: Comparison[] = [];
    say('shift PUT …');
    comparisons.push(await compareShiftPuts(setting));
    say('list of strokes …');
    comparisons.push(await compareStrokeLists(setting));
    say('progress …');
    comparisons.push(await compareView(setting, second, 'advance/days', 2));
    comparisons.push(await compareView(setting, second, 'advance/shifts', 2));
    comparisons.push(await compareView(setting, second, 'progress', 10));
    say('row-level security …');
    comparisons.push(...(await compareScope(setting, scoped)));
    say('as of a moment …');
    comparisons.push(...(await compareAsOf(setting)));
    await proveAlike(setting);
    say('shift PUT into a large drive …');
    comparisons.push(await compareGrowth(setting));
    say('missing support …');
    comparisons.push(await compareMissing(setting, second));
    return comparisons;
  } finally {
    await second.end();
    await scoped.end();
  }
};

const began = performance.now();
const setting = await startSetting(say);
try {
  const { client, driveIds, loaded, databaseUrl } = setting;
  const comparisons = await compareAll(setting);
  say('plans …');
  const plans = await explainViews(client, driveIds.LARGE);
  say('counting statements …');
  const statements = await countStatements(databaseUrl);
  say('missing support among a million lines …');
  comparisons.push(...(await compareMissingGrowth(setting)));
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
  writeResults(path.join(import.meta.dirname, 'results'), results);
  say(`\n${markdown(results)}`);
} finally {
  await setting.stop();
}
