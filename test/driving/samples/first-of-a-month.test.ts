import { setTimeout as pause } from 'node:timers/promises';
import pg from 'pg';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { uploadLines } from './samples.js';

let app: TestApp;
const sessions: pg.Client[] = [];

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  for (let n = 0; n < 2; n += 1) {
    const session = new pg.Client({ connectionString: app.url });
    await session.connect();
    sessions.push(session);
  }
});

afterAll(async () => {
  for (const session of sessions) await session.end();
  await app.close();
});

const waiting = async (pid: unknown): Promise<boolean> =>
  (await app.sql('select from pg_locks where pid = $1 and not granted', [pid])).length > 0;

describe('the first samples of a month', () => {
  it('of two services at once: the second waits for the table, and finds it', async () => {
    const [first, second] = sessions as [pg.Client, pg.Client];
    const make = (session: pg.Client) => session.query(`select make_sample_month('2031-05-17')`);
    const [{ pid }] = (await second.query('select pg_backend_pid() as pid')).rows as [{ pid: number }];
    await first.query('begin');
    await make(first);
    const made = make(second);
    while (!(await waiting(pid))) await pause(10);
    await first.query('commit');
    await expect(made).resolves.toBeDefined();
  });

  it('of several uploads at once are all stored', async () => {
    const drives = Array.from({ length: 4 }, (_, n) => `S${n}`);
    for (const drive of drives) await aDrive(app, { drive });
    const days = Array.from({ length: 6 }, (_, n) => `2032-0${n + 1}-10T06:00:00Z`);
    const taken = await Promise.all(
      drives.map(async (drive, n) => {
        // each has the months in a different order
        const order = n % 2 === 0 ? days : [...days].reverse();
        const lines = order.map((at, place) => ({ at, positionM: place / 1000 }));
        const { status, body } = await uploadLines(app, lines, `/v1/projects/P1/drives/${drive}/samples`);
        return [status, body.taken];
      }),
    );
    expect(taken).toEqual(drives.map(() => [200, days.length]));
  });
});
