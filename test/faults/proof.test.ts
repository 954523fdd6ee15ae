import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { Database } from '../../src/common/database/database.js';
import {
  type EmbeddedPostgres,
  startTemporaryPostgres,
} from '../../src/common/database/embedded-postgres.js';
import { migrate } from '../../src/common/database/migrate.js';
import { prepareRoles } from '../../src/common/database/roles.js';
import { isUnavailable } from '../../src/common/database/sql-error.js';

// A separate server: the changes to the role here would open the databases of other tests.

let server: EmbeddedPostgres;
let owner: pg.Client;

beforeAll(async () => {
  server = await startTemporaryPostgres('drive');
  await prepareRoles(server.url, {});
  await migrate(server.url);
  owner = new pg.Client({ connectionString: server.url });
  await owner.connect();
  await owner.query('begin');
  await owner.query(
    `select set_config('drivebook.actor', 'test', true), set_config('drivebook.credential', 'test', true)`,
  );
  await owner.query(
    `insert into project (code, name, time_zone, currency) values ('P1', 'Trial', 'UTC', 'CHF')`,
  );
  await owner.query('commit');
});

afterAll(async () => {
  await owner.end();
  await server.stop();
});

const LIMITS = loadConfig({});

const proof = async (): Promise<string> => {
  const database = new Database(server.url, 1, LIMITS);
  try {
    return await database.prove().then(
      () => 'serves',
      (error: unknown) => (error as Error).message,
    );
  } finally {
    await database.close();
  }
};

const faults: [string, string, string, RegExp][] = [
  [
    'bypasses row security',
    'alter role drivebook_app bypassrls',
    'alter role drivebook_app nobypassrls',
    /is a superuser or bypasses row security/,
  ],
  [
    'is a superuser',
    'alter role drivebook_app superuser',
    'alter role drivebook_app nosuperuser',
    /is a superuser or bypasses row security/,
  ],
  [
    'owns a table',
    'alter table shift owner to drivebook_app',
    `alter table shift owner to drivebook`,
    /acts as the owner of table shift/,
  ],
  [
    'reads a table without row security',
    'alter table boring disable row level security',
    'alter table boring enable row level security',
    /row security is not active for drivebook_app on table boring/,
  ],
  [
    'reads a table of the history without row security',
    'alter table history.boring disable row level security',
    'alter table history.boring enable row level security',
    /row security is not active for drivebook_app on table boring/,
  ],
  [
    'sees a project without a scope',
    'create policy lax on project using (true)',
    'drop policy lax on project',
    /a query without a scope sees the record/,
  ],
];

describe('a session that is not restricted to its scope', () => {
  it.each(faults)('because its role %s serves no request', async (_, breaks, mends, sentence) => {
    expect(await proof()).toBe('serves');
    await owner.query(breaks);
    try {
      expect(await proof()).toMatch(sentence);
    } finally {
      await owner.query(mends);
    }
    expect(await proof()).toBe('serves');
  });

  it('is detected on each new connection, not only at the start', async () => {
    const database = new Database(server.url, 1, LIMITS);
    try {
      await database.prove();
      await owner.query('alter table boring disable row level security');
      await owner.query(
        `select pg_terminate_backend(pid) from pg_stat_activity
         where datname = current_database() and backend_type = 'client backend' and pid <> pg_backend_pid()`,
      );
      const failure: unknown = await database.ask('select 1').catch((error: unknown) => error);
      expect(failure).toBeInstanceOf(Error);
      expect(isUnavailable(failure)).toBe(true);
    } finally {
      await owner.query('alter table boring enable row level security');
      await database.close();
    }
  });
});
