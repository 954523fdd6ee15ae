import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../support/app.js';
import { Proxy } from '../support/proxy.js';

/** One journey to the database, there and back. [ms] */
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

/** Sessions that wait for a lock of one that has long been waiting for the network. */
const HELD_UP = `select a.pid from pg_stat_activity a join pg_stat_activity b on b.pid = any(pg_blocking_pids(a.pid))
  where a.datname = current_database() and b.state = 'idle in transaction' and b.state_change < clock_timestamp() - interval '400 ms'`;

it('no writer of one drive waits for the journeys of another: the history of their project is locked for none of them', async () => {
  await Promise.all(DRIVES.map((drive) => put(drive, 1))); // connections and statements are prepared
  proxy.delay(ROUND_TRIP_MS / 2);
  await Promise.all(DRIVES.map((drive) => put(drive, 2)));
  let isDone = false;
  const writing = Promise.all(DRIVES.map((drive) => put(drive, 3))).finally(() => (isDone = true));
  const heldUp: object[] = [];
  while (!isDone) heldUp.push(...(await app.sql(HELD_UP)));
  await writing;
  proxy.delay(0);
  expect(heldUp).toEqual([]);
});
