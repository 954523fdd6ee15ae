import type pg from 'pg';
import { inTransaction } from './in-transaction.js';
import { lackingOf, LEAKPROOF, createViews, type ViewFiles } from './views.js';

/** Identifies a build, in the order that decides which is newer: version, newest migration, views. */
export interface Release {
  version: string;
  newestMigration: string;
  views: ViewFiles;
}

/** The result for the views. */
export interface ViewsOutcome {
  changed: boolean;
  /** The release whose views the database holds, where it is newer than this build. */
  newer?: string;
}

// History of the releases whose views were installed. It contains nothing of any project and belongs to the owner: the service's
// role has no right on its schema. It is outside `public`, where schema.prisma describes every table. The schema must not bear
// the name of a login, because a session looks names up first in the schema named after its user.
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

/** Negative when the first is older. A suffix after a hyphen (pre-release) counts only where the numbers are equal. */
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
 * Whether the build is older than the one whose views are installed. Of two with the same version and newest migration, the one
 * whose views were already replaced is older: builds of one version succeed each other only during development.
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
 * Installs the views of a release unless the database has the same ones or those of a newer release: an older build that restarts
 * during a rolling upgrade leaves them, and works with them where it can.
 * @param isBehind  whether the database has migrations unknown to the build: then it is older, whatever its version
 * @param replace   installs them in any case
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
    if (!same || replace) await createViews(client, views);
    await client.query(
      'insert into _drivebook.views_put_in (version, newest_migration, sha256) values ($1, $2, $3)',
      [version, newestMigration, views.sha256],
    );
  });
  return { changed: !same };
};
