import { createHash, randomUUID } from 'node:crypto';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import { packageRoot } from '../package-root.js';
import { inTransaction } from './in-transaction.js';
import { applyViews } from './release.js';
import { applyRights } from './rights.js';
import { APP_ROLE, withoutMakingRole } from './roles.js';
import { FORGET_KEPT, readViews } from './views.js';

// Marks a restore whose rows are not loaded yet; see src/backup.
const RESTORE_MARK = `to_regclass('_drivebook.restore_begun')`;

/** The advisory lock that `prisma migrate` also takes, so that the two never run at once. */
const LOCK = 72707369;

// The same as `prisma migrate` creates, so that its `status` can read it.
const TABLE = `create table if not exists _prisma_migrations (
  id varchar(36) primary key not null,
  checksum varchar(64) not null,
  finished_at timestamptz,
  migration_name varchar(255) not null,
  logs text,
  rolled_back_at timestamptz,
  started_at timestamptz not null default now(),
  applied_steps_count integer not null default 0
)`;

export interface MigrationResult {
  /** The migrations applied by this call, in order. */
  applied: string[];
  /** Whether the report views were rebuilt. */
  viewsChanged: boolean;
  /** The release to which a newer build has brought the database; this build works with its views. */
  newer?: string;
}

/** The migrations and views that a build ships. */
export interface MigrationFolders {
  migrations: string;
  views: string;
  version: string;
}

export const shippedFolders: MigrationFolders = {
  migrations: path.join(packageRoot, 'prisma', 'migrations'),
  views: path.join(packageRoot, 'prisma', 'views'),
  version: (JSON.parse(readFileSync(path.join(packageRoot, 'package.json'), 'utf8')) as { version: string })
    .version,
};

/**
 * First line of a migration, by which its author states that builds without it keep working: it only adds, and requires nothing
 * new from writers. An older build reads it from the database, from column `logs`.
 */
const COMPATIBLE = '-- compatible: older builds keep working';

interface Migration {
  name: string;
  sql: string;
  checksum: string;
}

interface Applied {
  name: string;
  checksum: string;
  finished: boolean;
  /** Whether builds without it keep working. */
  compatible: boolean;
}

function readMigrations(folder: string): Migration[] {
  if (!existsSync(folder)) return [];
  const names = readdirSync(folder, { withFileTypes: true }).filter((entry) => entry.isDirectory());
  return names
    .map(({ name }) => {
      const sql = readFileSync(path.join(folder, name, 'migration.sql'), 'utf8');
      return { name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
    })
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

/**
 * The migrations that the database lacks, and whether it has some unknown to this build.
 * @throws Error when the build cannot work with the database's migrations
 */
function pending(migrations: Migration[], applied: Applied[]): { lacking: Migration[]; isBehind: boolean } {
  const failed = applied.find((row) => !row.finished);
  if (failed)
    throw new Error(
      `Migration ${failed.name} failed before: restore the database, or settle it with "prisma migrate resolve".`,
    );
  const unknown = applied.filter((row) => !migrations.some(({ name }) => name === row.name));
  const closed = unknown.find(({ compatible }) => !compatible);
  if (closed)
    throw new Error(
      `The database holds migration ${closed.name}, which this build does not know and which older builds cannot work with: it was made by a newer build; run that one.`,
    );
  const lacking = migrations.filter((migration) => {
    const row = applied.find(({ name }) => name === migration.name);
    if (row && row.checksum !== migration.checksum) {
      throw new Error(
        `Migration ${migration.name} was edited after it was applied: put its file back and write a new migration.`,
      );
    }
    return !row;
  });
  if (lacking[0] && unknown[0])
    throw new Error(
      `The database holds migration ${unknown[0].name}, which this build does not know, and lacks ${lacking[0].name} of this build: run a build that has both.`,
    );
  return { lacking, isBehind: unknown.length > 0 };
}

async function apply(client: pg.Client, { name, sql, checksum }: Migration): Promise<void> {
  const { rowCount } = await client.query('select from pg_roles where rolname = $1', [APP_ROLE]);
  try {
    await inTransaction(client, async () => {
      await client.query(FORGET_KEPT);
      await client.query(rowCount === 0 ? sql : withoutMakingRole(sql));
      await client.query(
        `insert into _prisma_migrations (id, checksum, migration_name, logs, started_at, finished_at, applied_steps_count)
         values ($1, $2, $3, $4, now(), clock_timestamp(), 1)`,
        [randomUUID(), checksum, name, sql.startsWith(COMPATIBLE) ? COMPATIBLE : null],
      );
    });
  } catch (error) {
    throw new Error(`Migration ${name} failed and was rolled back: ${(error as Error).message}`, {
      cause: error,
    });
  }
}

const APPLIED = `select migration_name as name, checksum, finished_at is not null as finished, logs is not distinct from $1 as compatible
  from _prisma_migrations where rolled_back_at is null order by started_at`;

/** Keeps other starts from migrating while the session lasts, and creates the table of migrations. */
export const enterMigrations = async (client: pg.Client): Promise<void> => {
  await client.query('select pg_advisory_lock($1)', [LOCK]);
  await client.query(TABLE);
};

const applyLacking = async (client: pg.Client, migrations: Migration[]) => {
  const { rows } = await client.query<Applied>(APPLIED, [COMPATIBLE]);
  const { lacking, isBehind } = pending(migrations, rows);
  for (const migration of lacking) await apply(client, migration);
  return { applied: lacking.map(({ name }) => name), isBehind };
};

/**
 * For work beside a running service on the same database: migrating is left to that service.
 * @throws Error when the database lacks migrations of this build
 */
export const refuseUnmigrated = async (url: string, folders = shippedFolders): Promise<void> => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    const { rows } = await client.query<Applied>(APPLIED, [COMPATIBLE]);
    const [first] = pending(readMigrations(folders.migrations), rows).lacking;
    if (first)
      throw new Error(
        `The running service is of an older build: its database lacks migration ${first.name}. Restart the service with this build first.`,
      );
  } finally {
    await client.end();
  }
};

/**
 * Brings an empty database to an earlier state: to the migrations named. Call `enterMigrations` on the session first.
 * @throws Error when this build lacks one of them, or has it with different text
 */
export const migrateTo = async (
  client: pg.Client,
  state: { name: string; checksum: string }[],
  folders = shippedFolders,
): Promise<void> => {
  const known = new Map(readMigrations(folders.migrations).map((migration) => [migration.name, migration]));
  const wanted = state.map(({ name, checksum }) => {
    const migration = known.get(name);
    if (!migration)
      throw new Error(`Migration ${name} is not known to this build, ${folders.version}: use a newer one.`);
    if (migration.checksum !== checksum)
      throw new Error(
        `Migration ${name} of this build, ${folders.version}, is not the one that was applied.`,
      );
    return migration;
  });
  await applyLacking(client, wanted);
};

/**
 * Brings the database to this build: the missing migrations, one transaction each, then the report views if they differ. A
 * database already advanced by a newer build is left as it is. Safe to call from several processes at once. `folders` is for tests.
 * @param replaceViews  installs this build's views even in place of a newer build's
 * @throws Error in one sentence when the build cannot work with the database
 */
export async function migrate(
  url: string,
  folders = shippedFolders,
  replaceViews = false,
): Promise<MigrationResult> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await enterMigrations(client);
    const [begun] = (await client.query<{ is: boolean }>(`select ${RESTORE_MARK} is not null as is`)).rows;
    if (begun?.is)
      throw new Error(
        'A restore into this database was interrupted: run "drivebook restore" with the backup again.',
      );
    const migrations = readMigrations(folders.migrations);
    const { applied, isBehind } = await applyLacking(client, migrations);
    const release = {
      version: folders.version,
      newestMigration: migrations.at(-1)?.name ?? 'none',
      views: readViews(folders.views),
    };
    const { changed, newer } = await applyViews(client, release, isBehind, replaceViews);
    if (newer === undefined) await applyRights(client); // those of a newer build are kept
    return { applied, viewsChanged: changed, newer };
  } finally {
    await client.end(); // ends the session and releases the lock
  }
}
