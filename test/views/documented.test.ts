import { readFileSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';
import { startApp, type TestApp } from '../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

describe('schema report', () => {
  it('documents every view and function', async () => {
    const bare = await app.sql(`
      select c.relname as name from pg_class c where c.relnamespace = 'report'::regnamespace and obj_description(c.oid, 'pg_class') is null
      union all
      select p.proname from pg_proc p where p.pronamespace = 'report'::regnamespace and obj_description(p.oid, 'pg_proc') is null`);
    expect(bare).toEqual([]);
  });

  it('documents every column', async () => {
    const bare = await app.sql(`
      select c.relname || '.' || a.attname as name from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
      where c.relnamespace = 'report'::regnamespace and c.relkind = 'v' and col_description(c.oid, a.attnum) is null`);
    expect(bare).toEqual([]);
  });

  it('gives the unit of each column whose name has one', async () => {
    const UNITS =
      '_(m|mm|m2|m3|kg|t|kn|knm|kw|bar|h|s|hours|seconds|deg|percent|rpm|t_per_h|m_per_h|m_per_d|m_per_day|l_per_min)$';
    const wanting = await app.sql(
      `select c.relname || '.' || a.attname as name, col_description(c.oid, a.attnum) as text
       from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
       where c.relnamespace = 'report'::regnamespace and c.relkind = 'v' and a.attname ~ '${UNITS}' and col_description(c.oid, a.attnum) !~ '\\[[^]]+\\]'`,
    );
    expect(wanting).toEqual([]);
  });

  it('names in columns.json only existing views and columns', async () => {
    const { like, columns } = JSON.parse(
      readFileSync(path.join(packageRoot, 'prisma/views/columns.json'), 'utf8'),
    ) as { like: Record<string, string>; columns: Record<string, string> };
    const rows = await app.sql<{ view: string; name: string }>(
      `select c.relname as view, a.attname as name from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0
       where c.relnamespace = 'report'::regnamespace and c.relkind = 'v'`,
    );
    const known = new Set(rows.flatMap(({ view, name }) => [view, name, `${view}.${name}`]));
    const named = [...Object.entries(like).flat(), ...Object.keys(columns)];
    expect(named.filter((each) => !known.has(each))).toEqual([]);
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
