import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../support/app.js';
import { Proxy } from '../support/proxy.js';

/** One journey to the database, there and back: so long that the machine's own speed does not count. [ms] */
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

const put = async (drive: string, day: number): Promise<number> => {
  const date = `2027-03-0${day}`;
  const from = `1+20${day}`;
  const to = `1+20${day + 1}`;
  const body = aShift(date)
    .withStroke(day, from, to, '06:00', '06:40')
    .withSupport('BOLT', from, to, '4')
    .build();
  const began = performance.now();
  const { status } = await app.http.put(`/v1/projects/P1/drives/${drive}/shifts/${date}/day`).send(body);
  expect(status).toBe(201);
  return performance.now() - began;
};

it('eight drives of one project post side by side, however far the database is', async () => {
  await Promise.all(DRIVES.map((drive) => put(drive, 1))); // connections and statements are prepared
  await Promise.all(DRIVES.map((drive) => put(drive, 2)));
  proxy.delay(ROUND_TRIP_MS / 2);
  await Promise.all(DRIVES.map((drive) => put(drive, 3))); // as many connections as there are writers: making one takes five journeys
  const single = await put('W0', 4);
  const began = performance.now();
  await Promise.all(DRIVES.map((drive) => put(drive, 5)));
  const all = performance.now() - began;
  proxy.delay(0);
  // the history of the project, which all of them write, is locked for none of the journeys: with one of them it would be
  // ten journeys against three
  expect(all).toBeLessThan(3 * single);
});
