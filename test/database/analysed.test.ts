import { aDrive, aProject } from '../builders/project.js';
import { rowsOf, serviceSession, takenBack } from '../harness/service-role.js';
import { startApp, type TestApp } from '../harness/app.js';

// The service owns no table and may not analyse one itself: after an import it has grown tables analysed.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'D' });
});

afterAll(() => app.close());

/** PostgreSQL's estimate of the rows of a table. */
const thoughtOf = async (table: string): Promise<number> => {
  const [row] = await app.sql<{ rows: number }>(
    `select reltuples::int as rows from pg_class where oid = '${table}'::regclass`,
  );
  return row?.rows ?? NaN;
};

const borings = (from: number, to: number): Promise<unknown> =>
  app.sql(`begin; set local session_replication_role = replica;
    insert into boring (project_id, drive_id, stroke_number, from_m, to_m)
      select project_id, id, n, n * 0.01, (n + 1) * 0.01 from drive, generate_series(${from}, ${to - 1}) n where code = 'D';
    commit`);

it('analyses, by the service’s role, only what has grown by more than a tenth', async () => {
  await app.sql('alter table boring set (autovacuum_enabled = false)');
  const client = await serviceSession(app.url);
  const analyse = async (): Promise<number> =>
    (await rowsOf<{ n: number }>(client, 'select analyse_grown() as n'))[0]?.n ?? NaN;
  try {
    await analyse();
    const before = await thoughtOf('boring');
    await borings(0, 5000);
    expect(await thoughtOf('boring')).toBe(before);
    expect(await analyse()).toBe(1);
    expect(await thoughtOf('boring')).toBe(5000);
    await borings(5000, 5100); // 2 % more
    expect(await analyse()).toBe(0);
    expect(await thoughtOf('boring')).toBe(5000);
    // naming them for analysis is not allowed
    const notices: string[] = [];
    client.on('notice', ({ message }) => notices.push(message ?? ''));
    await takenBack(client, undefined, () => rowsOf(client, 'analyze boring'));
    expect(notices).toEqual([expect.stringMatching(/permission denied|only table or database owner/)]);
    expect(await thoughtOf('boring')).toBe(5000);
  } finally {
    await client.end();
  }
});

it('follows an import of strokes', async () => {
  await aDrive(app, { drive: 'I' });
  await app.sql(
    `alter table boring set (autovacuum_enabled = false); delete from boring where drive_id = (select id from drive where code = 'D')`,
  );
  await app.sql('vacuum analyze boring');
  expect(await thoughtOf('boring')).toBe(0);
  const rows = Array.from(
    { length: 3000 },
    (_, n) => `${n + 1},${(n * 0.1).toFixed(3)},${((n + 1) * 0.1).toFixed(3)}`,
  );
  const map = JSON.stringify({ number: 'number', fromM: 'from', toM: 'to' });
  const report = await app.http
    .post('/v1/projects/P1/drives/I/imports/strokes')
    .field('map', map)
    .attach('file', Buffer.from(['number,from,to', ...rows].join('\n')), 'strokes.csv');
  expect(report.status).toBe(200);
  expect(await thoughtOf('boring')).toBe(3000);
});
