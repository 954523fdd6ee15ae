import { randomUUID } from 'node:crypto';
import pg from 'pg';

export interface TestDatabase {
  url: string;
  /** Removes it, and ends the connections that are still open to it. */
  drop(): Promise<void>;
}

const run = async (url: string, sql: string): Promise<void> => {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await client.query(sql);
  } finally {
    await client.end();
  }
};

const named = (name: string): string => {
  const url = new URL(process.env.TEST_TEMPLATE_URL ?? '');
  url.pathname = name;
  return url.href;
};

/** A new database: migrated and with the views in, or empty. */
export async function freshDatabase(from: 'template' | 'template0' = 'template'): Promise<TestDatabase> {
  const name = `test_${randomUUID().replaceAll('-', '')}`;
  const server = named('postgres');
  await run(server, `create database ${name} template ${from}`);
  return { url: named(name), drop: () => run(server, `drop database ${name} with (force)`) };
}
