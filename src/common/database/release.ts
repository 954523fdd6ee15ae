import type pg from 'pg';
import { inTransaction } from './in-transaction.js';
import { lackingOf, LEAKPROOF, putInViews, type ViewFiles } from './views.js';

/** What distinguishes one build from another, in the order by which one is newer: its version, its newest migration, its views. */
export interface Release {
  version: string;
  newestMigration: string;
  views: ViewFiles;
}

/** What became of the views. */
export interface ViewsOutcome {
  changed: boolean;
  /** The release whose views the database holds, where it is newer than this build. */
  newer?: string;
}

// Which releases' views were put in, one after the other. It says nothing of any project and is the owner's alone: the
// service's role has no right on its schema. It is outside `public`, where schema.prisma describes every table, and its name is no login's: a session's names begin in
// the schema that is called like its user.
const TABLE = `create schema if not exists _drivebook;
create table if not exists _drivebook.views_put_in (
  number int generated always as identity primary key,
  put_in_at timestamptz not null default clock_timestamp(),
  version text not null,
  newest_migration text not null,
  sha256 text not null
)`;

interface PutIn {
  version: string;
  newestMigration: string;
  sha256: string;
}

const PUT_IN = `select version, newest_migration as "newestMigration", sha256 from _drivebook.views_put_in order by number`;

/** Negative when the first is older. What follows a hyphen (a pre-release) counts only where the numbers are equal. */
const byVersion = (a: string, b: string): number => {
  const numbers = (text: string): number[] => (text.split('-')[0] ?? '').split('.').map(Number);
  const [left, right] = [numbers(a), numbers(b)];
  for (let place = 0; place < Math.max(left.length, right.length); place += 1) {
    const difference = (left[place] ?? 0) - (right[place] ?? 0);
    if (difference !== 0) return difference;
  }
  return Number(b.includes('-')) - Number(a.includes('-'));
};

const byText = (a: string, b: string): number => (a < b ? -1 : Number(a > b));

/**
 * Whether the build is older than the one whose views are in. Of two with one version and one newest migration, that
 * one is older whose views were replaced before: builds of one version follow each other only while it is developed.
 */
const isOlder = (build: PutIn, last: PutIn, before: PutIn[]): boolean => {
  const order = byVersion(build.version, last.version) || byText(build.newestMigration, last.newestMigration);
  if (order !== 0) return order < 0;
  return before.some(
    ({ version, newestMigration, sha256 }) =>
      version === build.version && newestMigration === build.newestMigration && sha256 === build.sha256,
  );
};

const nameOf = ({ version, newestMigration }: PutIn): string => `${version} (migration ${newestMigration})`;

/** @throws Error in one sentence when the older build cannot work with the newer one's views and tables */
const assertServable = async (client: pg.Client, views: ViewFiles, newer: string): Promise<void> => {
  const refused = (why: string): Error =>
    new Error(
      `The database was upgraded to release ${newer} by a newer build, and this build cannot work with it: ${why}. Run the newer build; after a downgrade on purpose, restore the backup made before the upgrade.`,
    );
  const lacking = await lackingOf(client, views).catch((error: Error) => {
    throw refused(error.message);
  });
  const [first] = lacking;
  if (first !== undefined)
    throw refused(`the views lack ${first}${lacking.length > 1 ? ` and ${lacking.length - 1} more` : ''}`);
};

/**
 * Puts the views of a release in unless those of the database are the same, or of a newer release: an older build that
 * starts again during a rolling upgrade leaves them, and works with them where it can.
 * @param isBehind  whether the database holds migrations that the build does not know: it is older whatever its version
 * @param replace   puts them in whatever the database holds
 * @throws Error naming the view file whose SQL failed, or why an older build cannot work with the newer views
 */
export const applyViews = async (
  client: pg.Client,
  release: Release,
  isBehind: boolean,
  replace: boolean,
): Promise<ViewsOutcome> => {
  const { version, newestMigration, views } = release;
  await client.query(LEAKPROOF);
  await client.query(TABLE);
  const { rows } = await client.query<PutIn>(PUT_IN);
  const [present] = (
    await client.query<{ is: boolean }>(`select to_regnamespace('report') is not null as is`)
  ).rows;
  const last = present?.is ? rows.at(-1) : undefined;
  const build = { version, newestMigration, sha256: views.sha256 };
  const same = last?.sha256 === build.sha256;
  if (last && !replace && (isBehind || isOlder(build, last, rows.slice(0, -1)))) {
    if (same && !isBehind) return { changed: false };
    await assertServable(client, views, nameOf(last));
    return { changed: false, newer: nameOf(last) };
  }
  if (same && last.version === version && last.newestMigration === newestMigration) return { changed: false };
  await inTransaction(client, async () => {
    if (!same || replace) await putInViews(client, views);
    await client.query(
      'insert into _drivebook.views_put_in (version, newest_migration, sha256) values ($1, $2, $3)',
      [version, newestMigration, views.sha256],
    );
  });
  return { changed: !same };
};
