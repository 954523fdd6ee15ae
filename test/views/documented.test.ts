import { startApp, type TestApp } from '../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

describe('schema report', () => {
  it('says of every view and function what it holds', async () => {
    const bare = await app.sql(`
      select c.relname as name from pg_class c where c.relnamespace = 'report'::regnamespace and obj_description(c.oid, 'pg_class') is null
      union all
      select p.proname from pg_proc p where p.pronamespace = 'report'::regnamespace and obj_description(p.oid, 'pg_proc') is null`);
    expect(bare).toEqual([]);
  });

  it('answers for a drive and a project without a record', async () => {
    const views = await app.sql<{ name: string }>(
      `select viewname as name from pg_views where schemaname = 'report'`,
    );
    expect(views.length).toBeGreaterThan(10);
    for (const { name } of views)
      expect([name, await app.sql(`select * from report.${name}`)]).toEqual([name, []]);
  });
});
