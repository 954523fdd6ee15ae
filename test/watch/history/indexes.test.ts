import { startApp, type TestApp } from '../../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

it('the history has no index of ranges made of two columns: no reading could use one, and every write would maintain it', async () => {
  expect(
    await app.sql(
      `select indexrelid::regclass::text from pg_index x join pg_class c on c.oid = x.indexrelid join pg_am a on a.oid = c.relam
       where c.relnamespace = 'history'::regnamespace and a.amname = 'gist' and x.indexprs is not null`,
    ),
  ).toEqual([]);
});
