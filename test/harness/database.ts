import { randomUUID } from 'node:crypto';
import pg from 'pg';

export interface TestDatabase {
  url: string;
  /** Removes it, and ends the connections that are still open to it. */
  drop(): Promise<void>;
}

const named = (name: string): string => {
  const url = new URL(process.env.TEST_TEMPLATE_URL ?? '');
  url.pathname = name;
  return url.href;
};

let connected: pg.Pool | undefined;

/** Over connections that stay open: opening one each time takes half as long as creating the database. */
const run = async (sql: string): Promise<void> => {
  if (!connected) {
    connected = new pg.Pool({
      connectionString: named('postgres'),
      max: 2,
      idleTimeoutMillis: 0,
      allowExitOnIdle: true,
    });
    connected.on('error', () => undefined); // they end with the server of the test run
  }
  await connected.query(sql);
};

/** A new database: migrated with views, or empty. */
export async function freshDatabase(from: 'template' | 'template0' = 'template'): Promise<TestDatabase> {
  const migrated = new URL(process.env.TEST_TEMPLATE_URL ?? '').pathname.slice(1);
  const template = from === 'template' ? migrated : from;
  const name = `${migrated}_${randomUUID().replaceAll('-', '')}`;
  await run(`create database ${name} template ${template} strategy file_copy`); // half the processor time of the default
  // settings of a database are not cloned; this one is of a migration, and the PostgreSQL that a run starts has no JIT compiler
  if (from === 'template' && process.env.TEST_SERVER !== undefined)
    await run(`alter database ${name} set jit = off`);
  return { url: named(name), drop: () => run(`drop database ${name} with (force)`) };
}
