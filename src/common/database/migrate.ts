import { createHash, randomUUID } from 'node:crypto';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import { packageRoot } from '../package-root.js';
import { applyRights } from './rights.js';
import { APP_ROLE, withoutMakingRole } from './roles.js';
import { applyViews } from './views.js';

/** The lock that `prisma migrate` takes too, so that the two never run at once. */
const LOCK = 72707369;

// As `prisma migrate` creates it, so that its `status` reads what we write.
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
  /** Whether the report views were put in anew. */
  viewsChanged: boolean;
}

export interface MigrationFolders {
  migrations: string;
  views: string;
}

export const shippedFolders: MigrationFolders = {
  migrations: path.join(packageRoot, 'prisma', 'migrations'),
  views: path.join(packageRoot, 'prisma', 'views'),
};

interface Migration {
  name: string;
  sql: string;
  checksum: string;
}

interface Applied {
  name: string;
  checksum: string;
  finished: boolean;
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

/** @throws Error when the database's history is not the beginning of ours */
function pending(migrations: Migration[], applied: Applied[]): Migration[] {
  const failed = applied.find((row) => !row.finished);
  if (failed)
    throw new Error(
      `Migration ${failed.name} failed before: restore the database, or settle it with "prisma migrate resolve".`,
    );
  const unknown = applied.find((row) => !migrations.some(({ name }) => name === row.name));
  if (unknown)
    throw new Error(
      `The database holds migration ${unknown.name}, which this build does not know: it was made by a newer build; run that one.`,
    );
  return migrations.filter((migration) => {
    const row = applied.find(({ name }) => name === migration.name);
    if (row && row.checksum !== migration.checksum) {
      throw new Error(
        `Migration ${migration.name} was edited after it was applied: put its file back and write a new migration.`,
      );
    }
    return !row;
  });
}

async function apply(client: pg.Client, { name, sql, checksum }: Migration): Promise<void> {
  const { rowCount } = await client.query('select from pg_roles where rolname = $1', [APP_ROLE]);
  await client.query('begin');
  try {
    await client.query(rowCount === 0 ? sql : withoutMakingRole(sql));
    await client.query(
      `insert into _prisma_migrations (id, checksum, migration_name, started_at, finished_at, applied_steps_count)
       values ($1, $2, $3, now(), clock_timestamp(), 1)`,
      [randomUUID(), checksum, name],
    );
    await client.query('commit');
  } catch (error) {
    await client.query('rollback');
    throw new Error(`Migration ${name} failed and was rolled back: ${(error as Error).message}`, {
      cause: error,
    });
  }
}

/**
 * Brings the database to this build: the migrations it lacks, one transaction each, then the report views when
 * they differ. Safe to call from several processes at once. `folders` is for tests.
 * @throws Error in one sentence when the database and the migration files do not belong together
 */
export async function migrate(url: string, folders = shippedFolders): Promise<MigrationResult> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await client.query('select pg_advisory_lock($1)', [LOCK]);
    await client.query(TABLE);
    const { rows } = await client.query<Applied>(
      `select migration_name as name, checksum, finished_at is not null as finished
       from _prisma_migrations where rolled_back_at is null order by started_at`,
    );
    const applied: string[] = [];
    for (const migration of pending(readMigrations(folders.migrations), rows)) {
      await apply(client, migration);
      applied.push(migration.name);
    }
    const viewsChanged = await applyViews(client, folders.views);
    await applyRights(client);
    return { applied, viewsChanged };
  } finally {
    await client.end(); // ends the session, and the lock with it
  }
}
