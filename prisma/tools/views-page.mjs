/** Writes docs/views.md from the comments of a migrated database. */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import './typescript.mjs';

const { startTemporaryPostgres } = await import('../../src/common/database/embedded-postgres.ts');
const { migrate } = await import('../../src/common/database/migrate.ts');
const { viewsPage } = await import('../../src/common/database/views-page.ts');

const server = await startTemporaryPostgres('views-page');
try {
  await migrate(server.url);
  const client = new pg.Client({ connectionString: server.url });
  await client.connect();
  const text = await viewsPage(async (sql) => (await client.query(sql)).rows);
  await client.end();
  writeFileSync(path.resolve(import.meta.dirname, '..', '..', 'docs', 'views.md'), text);
} finally {
  await server.stop();
}
