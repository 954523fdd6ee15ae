import { createServer } from 'node:net';
import { once } from 'node:events';
import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { captured } from '../harness/captured-command.js';
import { answerChecks } from './answer-checks.js';

// The command in a separate process, with its embedded PostgreSQL, stopped and restarted: demo.long.ts.

const SETTINGS = ['DATABASE_URL', 'HOST', 'PORT', 'AUTH', 'API_KEY_PEPPER'];
const signals = ['SIGINT', 'SIGTERM'] as const;
const listeners = signals.map((signal) => process.listeners(signal));

let database: TestDatabase;

const fresh = async (): Promise<void> => {
  database = await freshDatabase();
  Object.assign(process.env, { DATABASE_URL: database.url, HOST: '', PORT: '0' });
};

const dropped = async (): Promise<void> => {
  for (const name of SETTINGS) delete process.env[name];
  for (const [index, signal] of signals.entries())
    for (const listener of process.listeners(signal))
      if (!listeners[index]?.includes(listener)) process.off(signal, listener);
  await database.drop();
};

describe('drivebook demo', () => {
  let answer: Awaited<ReturnType<typeof captured>>;

  beforeAll(async () => {
    await fresh();
    answer = await captured('demo', '--once');
  });

  afterAll(dropped);

  it('says that the drive is invented and that it supports decisions only', () => {
    expect(answer).toMatchObject({ status: 0, err: '' });
    expect(answer.out).toContain('The drive is invented');
    expect(answer.out).toContain('about support and probing is decision support');
  });

  it('loads the whole drive', () => {
    expect(answer.out).toMatch(/^Site +28 created$/m);
    expect(answer.out).toMatch(/^Shifts +31 created, 2 replaced$/m);
    expect(answer.out).toMatch(/^Samples +\d+ taken$/m);
  });

  it('has what lies ahead in the record, and warns of it', async () => {
    const client = new pg.Client({ connectionString: database.url });
    await client.connect();
    const rows = async (sql: string): Promise<unknown[][]> =>
      (await client.query<unknown[]>({ text: sql, rowMode: 'array' })).rows;
    try {
      // the face is at 320.023 m driven: 330 + 5 lies ahead
      expect(
        await rows('select key, outcome::text, encounter_name from report.indication_outcome order by key'),
      ).toEqual([
        ['A', 'hit', 'E-1'],
        ['B', 'open', null],
      ]);
      // 10.6 l/min over 5 m at 8 - 4.5 bar: 10.6 / 5 * 10 / 3.5 = 6.057 Lu; 19.4 and 19.6 at 6.5: 5.969 and 6.031; 31.6 at 10.5:
      // 6.019; 10.4 at 3.5: 5.943; about the same, so their mean
      expect(
        await rows('select flow_pattern::text, representative_lu, lugeon_class::text from report.water_test'),
      ).toEqual([['laminar', '6.004', 'moderate']]);
      expect(
        await rows(
          'select round, hole, inflow_l_per_min, trigger_l_per_min, is_met from report.grouting_control_hole',
        ),
      ).toEqual([['GR-1', 'K-1', '1.800', '20.000', true]]);
      expect(
        await rows('select code, is_passed, is_released, is_released_late from report.hold_point_register'),
      ).toEqual([['FAULT', true, true, false]]);
      // 46 l/min over 38 m: 121.053 per 100 m; the cover is that of the page
      expect(await rows('select rule, value, limit_value, is_open from report.alert_register')).toEqual([
        ['COVER', '11.132', '12.000', true],
        ['INFLOW', '121.053', '40.000', true],
      ]);
    } finally {
      await client.end();
    }
  });

  answerChecks(() => answer.out);

  it('starts again when its samples were taken out of the record', async () => {
    expect(await captured('samples', 'detach', '2021-03')).toMatchObject({ status: 0 });
    const again = await captured('demo', '--once');
    expect(again).toMatchObject({ status: 0, err: '' });
    expect(again.out).toMatch(/^Shifts +31 unchanged\nSamples +kept out: their month is retired$/m);
  });
});

describe('drivebook demo that does not start', () => {
  beforeEach(fresh);
  afterEach(dropped);

  const query = async (sql: string): Promise<unknown[]> => {
    const client = new pg.Client({ connectionString: database.url });
    await client.connect();
    try {
      return (await client.query(sql)).rows as unknown[];
    } finally {
      await client.end();
    }
  };

  it('refuses a database that holds a real record, and writes nothing', async () => {
    await query(
      `insert into project (code, name, time_zone, currency) values ('T1', 'Tunnel', 'UTC', 'EUR')`,
    );
    const { status, out, err } = await captured('demo', '--once');
    expect(status).toBe(1);
    expect(out).toBe('');
    expect(err).toMatch(/^The database of DATABASE_URL holds a record \(project T1\): .*\n$/);
    expect(await query('select code from project')).toEqual([{ code: 'T1' }]);
  });

  it('signs for nobody where the service needs a login', async () => {
    Object.assign(process.env, { AUTH: 'required', API_KEY_PEPPER: 'p'.repeat(32) });
    const { status, out, err } = await captured('demo', '--once');
    expect({ status, out }).toEqual({ status: 1, out: '' });
    expect(err).toMatch(/^The demo runs for one person on this machine.*leave AUTH unset\.\n$/);
    expect(await query('select code from project')).toEqual([]);
  });

  it.each([['demo', '--once'], ['serve']])(
    '%s says in one sentence that the port is in use',
    async (...args) => {
      const other = createServer().listen(0, '127.0.0.1');
      await once(other, 'listening');
      const address = other.address();
      const port = typeof address === 'object' && address ? String(address.port) : '';
      process.env.PORT = port;
      const answer = await captured(...args);
      other.close();
      expect(answer).toEqual({
        status: 1,
        out: expect.stringMatching(/^Starting Drivebook \d\S+ …\n$/), // before the service is loaded
        err: `Port ${port} of 127.0.0.1 is taken: stop the program that listens there, or name another port by PORT or --port.\n`,
      });
    },
  );

  it('refuses other arguments', async () => {
    const { status, err } = await captured('demo', '--twice');
    expect(status).toBe(2);
    expect(err).toContain("unknown option '--twice'");
  });
});
