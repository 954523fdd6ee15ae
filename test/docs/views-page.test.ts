import { viewsPage } from '../../src/common/database/views-page.js';
import { startApp, type TestApp } from '../harness/app.js';
import { page } from './pages.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

it('docs/views.md is up to date: otherwise run npm run docs:views', async () => {
  expect(page('docs/views.md')).toBe(await viewsPage((sql) => app.sql(sql)));
});

it('docs/views.md has every view that psql lists, with each of its columns', async () => {
  const columns = await app.sql<{ view: string; column: string }>(
    `select table_name as view, column_name as column from information_schema.columns where table_schema = 'report'`,
  );
  const text = page('docs/views.md');
  const sections = new Map(text.split(/^### /m).map((section) => [/^\w+/.exec(section)?.[0] ?? '', section]));
  expect(columns.length).toBeGreaterThan(1000);
  expect(columns.filter(({ view, column }) => !sections.get(view)?.includes(`| \`${column}\` |`))).toEqual(
    [],
  );
});
