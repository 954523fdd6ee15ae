import pg from 'pg';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { uploadLines } from '../driving/samples/samples.js';
import { Emptied } from '../harness/emptied.js';

// Test files of a worker share a database one after the other: each must find it empty.

let app: TestApp;
let superuser: pg.Pool;
let emptied: Emptied;

/** Every row of every table of the record and its history, and the state of the sequences. */
const EVERYTHING = `select string_agg(query_to_xml(format('select * from %s t order by t::text', name), true, false, '')::text, '' order by name) as rows,
    (select json_agg(s order by schemaname, sequencename) from pg_sequences s)::text as sequences
  from (select oid::regclass::text as name from pg_class
    where relkind in ('r', 'p') and relnamespace in (select oid from pg_namespace where nspname in ('public', 'history'))) t`;

const everything = async (): Promise<unknown> => (await superuser.query(EVERYTHING)).rows;

beforeAll(async () => {
  app = await startApp({});
  superuser = new pg.Pool({ connectionString: app.url, max: 1 });
  superuser.on('error', () => undefined); // a connection may end with its database
  emptied = await Emptied.of(superuser);
});

afterAll(async () => {
  await superuser.end();
  await app.close();
});

it('an emptied database keeps no async context of earlier files', () => {
  expect(Object.getOwnPropertySymbols(Promise.resolve()).length).toBeLessThan(10); // Node 20 stores each under a symbol
});

it('a database that was filled is as before, also after a month of samples', async () => {
  const before = await everything();
  await aProject(app);
  const { status } = await uploadLines(app, [{ at: '2027-03-01T06:00:00Z', positionM: 0 }]);
  expect(status).toBe(200);
  expect(await everything()).not.toEqual(before);
  expect(await emptied.empty()).toBe(true);
  expect(await everything()).toEqual(before);
  await aProject(app); // the service still works
  expect(await emptied.empty()).toBe(true);
});

it.each([
  [
    'a function',
    'create function left_over() returns int language sql as $$ select 1 $$',
    'drop function left_over()',
  ],
  ['a table', 'create table left_over ()', 'drop table left_over'],
  ['a trigger that does not fire', 'alter table shift disable trigger user', ''],
  ['a row that a new database holds', `update _prisma_migrations set logs = 'left over'`, ''],
])('%s makes it unusable', async (_, change, back) => {
  await superuser.query(change);
  expect(await emptied.empty()).toBe(false);
  await superuser.query(back);
});
