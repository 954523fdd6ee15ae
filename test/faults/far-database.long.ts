import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { Proxy } from '../harness/proxy.js';

/** One round trip to the database. [ms] */
const ROUND_TRIP_MS = 1000;
const DRIVES = Array.from({ length: 8 }, (_, n) => `W${n}`);

let proxy: Proxy;
let app: TestApp;

beforeAll(async () => {
  // one caller has half of the pool
  app = await startApp({ DATABASE_POOL_SIZE: '16' }, async (url) => {
    proxy = await Proxy.start(url);
    return proxy.url;
  });
  await aProject(app);
  for (const drive of DRIVES) await aDrive(app, { drive });
});

afterAll(async () => {
  proxy.delay(0);
  await app.close();
  await proxy.close();
});

const put = async (drive: string, day: number): Promise<void> => {
  const date = `2027-03-0${day}`;
  const from = `1+20${day}`;
  const to = `1+20${day + 1}`;
  const body = aShift(date)
    .withStroke(day, from, to, '06:00', '06:40')
    .withSupport('BOLT', from, to, '4')
    .build();
  const { status } = await app.http.put(`/v1/projects/P1/drives/${drive}/shifts/${date}/day`).send(body);
  expect(status).toBe(201);
};

it('a shift is written without waiting for the network: its rows and the commit are one round trip, so no lock is held across one', async () => {
  await Promise.all(DRIVES.map((drive) => put(drive, 1))); // opens connections
  proxy.delay(ROUND_TRIP_MS / 2);
  proxy.sentWithCommit.length = 0;
  for (const day of [2, 3]) await Promise.all(DRIVES.map((drive) => put(drive, day)));
  proxy.delay(0);
  const writing = proxy.sentWithCommit.filter((statements) =>
    statements.some((sql) => sql.includes('hold_complete')),
  );
  expect(writing).toHaveLength(2 * DRIVES.length);
  for (const statements of writing) {
    expect(statements).toContainEqual(expect.stringMatching(/^insert into shift /));
    expect(statements).not.toContainEqual(expect.stringMatching(/for no key update$/)); // that answer is awaited, before any row
  }
});
