import { Database } from '../../src/common/database/database.js';
import { inScope, type Scope } from '../../src/common/database/scope.js';
import type { SharedReading } from '../../src/common/database/shared-reading.js';
import { aDrive, aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { until } from '../harness/until.js';

// The readings of an operation: one state of the record, each in the scope of its own project, each with its own failure.

let app: TestApp;
let database: Database;
const ids = new Map<string, number>();

beforeAll(async () => {
  app = await startApp();
  database = app.app.get(Database);
  for (const project of ['P1', 'P2']) await aProject(app, { project });
  await aDrive(app, { project: 'P2', drive: 'S' });
  for (const { code, id } of await app.sql<{ code: string; id: number }>('select code, id from project'))
    ids.set(code, id);
});

afterAll(() => app.close());

const within = <T>(project: string, readings: SharedReading, work: () => T, asOf?: Scope['asOf']): T => {
  const projectId = ids.get(project) ?? 0;
  return inScope(
    { projectId, project, actor: 'trial', credential: 'trial', readings, ...(asOf && { asOf }) },
    work,
  );
};

const DRIVES = 'select code from drive order by code';

const drivesOf = async (project: string, readings: SharedReading, asOf?: Scope['asOf']): Promise<string[]> =>
  (await within(project, readings, () => database.read<{ code: string }>(DRIVES), asOf)).map(
    ({ code }) => code,
  );

it('shows each of two projects read by one message only its own rows', async () => {
  const read = (readings: SharedReading) =>
    Promise.all(['P1', 'P2', 'P1'].map((project) => drivesOf(project, readings)));
  expect(await database.together(read)).toEqual([['N'], ['N', 'S'], ['N']]);
});

it('shows nothing for a project that does not exist', async () => {
  const nowhere = (readings: SharedReading) =>
    Promise.all([drivesOf('P2', readings), drivesOf('none', readings)]);
  expect(await database.together(nowhere)).toEqual([['N', 'S'], []]);
});

it('reads one snapshot, whatever is written meanwhile', async () => {
  const [before, after] = await database.together(async (readings) => {
    const first = await drivesOf('P1', readings);
    await aDrive(app, { project: 'P1', drive: 'LATER' });
    return [first, await drivesOf('P1', readings)];
  });
  expect([before, after]).toEqual([['N'], ['N']]);
  expect(await database.together((readings) => drivesOf('P1', readings))).toEqual(['LATER', 'N']);
});

it('sees what the operation itself has written', async () => {
  const mutation = `mutation { putGroundClass(project: "P1", code: "NEW", input: { description: "New" }) { code } }`;
  expect((await app.http.post('/graphql').send({ query: mutation })).body).toEqual({
    data: { putGroundClass: { code: 'NEW' } },
  });
  const classes = 'select code from ground_class order by code';
  const seen = await database.together((readings) =>
    within('P1', readings, async () => {
      const before = await database.read<{ code: string }>(classes);
      await database.bulk((send) => send(`update ground_class set code = 'NEWER' where code = 'NEW'`));
      return [before, await database.read<{ code: string }>(classes)].map((rows) =>
        rows.map(({ code }) => code),
      );
    }),
  );
  expect(seen).toEqual([
    ['A', 'B', 'NEW'],
    ['A', 'B', 'NEWER'],
  ]);
});

it('fails one reading of a message and answers the others, and those after it', async () => {
  const broken = 'select 1 / ($1::int - 5) as one';
  const [zero, ...others] = await database.together(async (readings) => {
    const asked = [5, 6, 7].map((value) =>
      within('P1', readings, () => database.read<{ one: number }>(broken, value)),
    );
    const settled = await Promise.allSettled([...asked, drivesOf('P2', readings)]);
    return [...settled, ...(await Promise.allSettled([drivesOf('P2', readings)]))];
  });
  expect(zero).toMatchObject({ status: 'rejected', reason: { code: '22012' } }); // division_by_zero
  expect(others.map((each) => each.status === 'fulfilled' && each.value)).toEqual([
    [{ one: 1 }],
    [{ one: 0 }],
    ['N', 'S'],
    ['N', 'S'],
  ]);
});

it('reads as of moments and now side by side, each in its own', async () => {
  const moment = (await database.now()).toISOString();
  await aDrive(app, { project: 'P2', drive: 'YOUNG' });
  const ahead = new Date(Date.now() + 3_600_000).toISOString();
  const [then, now, future, first] = await database.together((readings) =>
    Promise.allSettled([
      drivesOf('P2', readings, { instant: moment, in: 'query' }),
      drivesOf('P2', readings),
      drivesOf('P2', readings, { instant: ahead, in: 'query' }),
      drivesOf('P2', readings, { change: 1 }),
    ]),
  );
  expect(then).toMatchObject({ value: ['N', 'S'] });
  expect(now).toMatchObject({ value: ['N', 'S', 'YOUNG'] });
  expect(future).toMatchObject({ reason: { code: 'invalid' } });
  expect(first).toMatchObject({ value: [] });
});

it.each([
  [`O'Neill \\ "x"`, `O'Neill \\ "x"`],
  ['$1; drop table drive', '$1; drop table drive'],
  ['{a,"b"}', '{a,"b"}'],
])('passes %s as a parameter unchanged', async (given, read) => {
  const ask = (readings: SharedReading) =>
    within('P1', readings, () =>
      database.read(
        'select $1::text as text, $2::text[] as list, $3::int as number',
        given,
        [given, null],
        7,
      ),
    );
  expect(await database.together(ask)).toEqual([{ text: read, list: [read, null], number: 7 }]);
});

it('returns its connection', async () => {
  await database.together((readings) => drivesOf('P1', readings));
  await until(() => database.connections.inUse === 0); // nobody waits for the commit of what was only read
});
