import pg from 'pg';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { captured } from '../harness/captured-command.js';
import { until, untilOneWaits } from '../harness/until.js';

// Writers of project-wide rows queue at the project's history, and lock no row before their turn: otherwise a write by GraphQL and a conditional
// one by REST could wait for each other, and one of the two would be refused (40P01, 503).

let app: TestApp;
let holder: pg.Client;
let prober: pg.Client;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  [holder, prober] = [
    new pg.Client({ connectionString: app.url }),
    new pg.Client({ connectionString: app.url }),
  ];
  await Promise.all([holder.connect(), prober.connect()]);
});

afterAll(async () => {
  await Promise.all([holder.end(), prober.end()]);
  await app.close();
});

const HISTORY = `select pg_advisory_xact_lock(hashtext('drivebook.history'), (select id from project where code = 'P1'))`;

/** Field, type and value of the input, name of the key, table. */
const WRITES: [field: string, type: string, input: object, key: string, table: string][] = [
  ['putEquipment', 'EquipmentInput', { description: 'Shotcrete robot' }, 'code', 'equipment'],
  [
    'putActivityCode',
    'ActivityCodeInput',
    { description: 'Washing', countsAs: 'planned_stop' },
    'code',
    'activity_code',
  ],
  ['putGroundClass', 'GroundClassInput', { description: 'Blocky' }, 'code', 'ground_class'],
  [
    'putSupportItem',
    'SupportItemInput',
    { kind: 'bolt', unit: 'nr', description: 'Bolt 3 m' },
    'code',
    'support_item',
  ],
  ['putNoticeRule', 'NoticeRuleInput', { name: 'Claim', days: 28, clause: '20.2.1' }, 'code', 'notice_rule'],
];

const put = (field: string, type: string, input: object, key: string) =>
  app.http.post('/graphql').send({
    query: `mutation ($input: ${type}!) { ${field}(project: "P1", ${key}: "LOCKED", input: $input) { ${key} } }`,
    variables: { input },
  });

it.each(WRITES)('%s waits for its turn before it locks a row', async (field, type, input, key, table) => {
  const made = await put(field, type, input, key);
  expect(made.body.errors).toBeUndefined();
  await holder.query('begin');
  await holder.query(HISTORY);
  const waiting = put(field, type, input, key).then(({ body }) => body);
  try {
    await untilOneWaits(app);
    // like the write that holds the history
    const free = await prober.query(`select from ${table} where code = 'LOCKED' for no key update nowait`);
    expect(free.rowCount).toBe(1);
  } finally {
    await holder.query('commit');
  }
  expect(await waiting).toEqual({ data: { [field]: { [key]: 'LOCKED' } } });
});

// Values of strokes depend on the data of their machine: a write of machine data locks the machine's drives first, then the history, as a shift
// does. In the other order, a shift that has deleted its borings waits for the history and the machine for the borings: a deadlock (40P01).

const MACHINE = { name: 'Trial machine', validFrom: '2027-02-01', discCount: 40, discRadiusMm: '241.3' };
const MACHINE_PATH = '/v1/projects/P1/machines/M1';
const SHIFT_PATH = '/v1/projects/P1/drives/N/shifts/2027-03-01/day';

const MACHINE_WRITES: [by: string, write: () => Promise<number>][] = [
  ['PUT', async () => (await app.http.put(MACHINE_PATH).send(MACHINE)).status],
  [
    'a conditional PUT',
    async () => (await app.http.put(MACHINE_PATH).set('If-Match', '*').send(MACHINE)).status,
  ],
  [
    'DELETE of a revision',
    async () => (await app.http.delete(`${MACHINE_PATH}/revisions/2027-02-01`)).status,
  ],
  [
    'GraphQL',
    async () => {
      const { body } = await app.http.post('/graphql').send({
        query: `mutation ($input: MachineInput!) { putMachine(project: "P1", machine: "M1", input: $input) { code } }`,
        variables: { input: MACHINE },
      });
      expect(body.errors).toBeUndefined();
      return 200;
    },
  ],
  [
    'recompute, which writes what was computed by them,',
    async () => {
      process.env['DATABASE_URL'] = app.url;
      await captured('recompute');
      return 200;
    },
  ],
];

describe('data of a machine', () => {
  it.each(MACHINE_WRITES)('by %s wait for its drives before they lock the history', async (_, write) => {
    await app.http.put(MACHINE_PATH).send(MACHINE);
    await holder.query('begin');
    await holder.query(`select from drive where code = 'N' for no key update`);
    const waiting = write();
    try {
      await Promise.race([
        untilOneWaits(app),
        waiting.then(() => Promise.reject(new Error('it did not wait'))),
      ]);
      await prober.query('begin');
      await prober.query(`set local lock_timeout = '1ms'`);
      await prober.query(HISTORY);
    } finally {
      await prober.query('rollback');
      await holder.query('commit');
    }
    expect(await waiting).toBeLessThan(300);
  });

  it('and a shift of one of its drives run one after the other: the shift waits for the drive, without a deadlock', async () => {
    const shift = (torqueKnm: number) =>
      aShift()
        .withStroke(1, '1+200', '1+201.7', '06:00', '06:40', {
          thrustKn: 12_000,
          torqueKnm,
          rotationRpm: 6,
          penetrationMmPerRev: 8,
        })
        .build();
    const { status, headers } = await app.http.put(SHIFT_PATH).send(shift(1500));
    expect(status).toBe(201);
    const waitsFor = async (event: string): Promise<boolean> =>
      (
        await app.sql(
          `select from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock' and wait_event = $1`,
          [event],
        )
      ).length === 1;
    await holder.query('begin');
    await holder.query(HISTORY);
    const machine = app.http
      .put(MACHINE_PATH)
      .send({ ...MACHINE, discCount: 30 })
      .then((answer) => answer.status);
    await until(() => waitsFor('advisory'));
    const posted = app.http
      .put(SHIFT_PATH)
      .set('If-Match', headers['etag'] ?? '')
      .send(shift(1600))
      .then((answer) => answer.status);
    await until(() => waitsFor('transactionid'));
    expect(await waitsFor('advisory')).toBe(true);
    await holder.query('commit');
    expect(await machine).toBeLessThan(300);
    expect(await posted).toBe(200);
    // 12 000 kN on 30 discs, no friction given: the later shift is computed with the earlier machine data
    expect(await app.sql('select thrust_per_disc_kn, torque_knm from boring')).toEqual([
      { thrust_per_disc_kn: 400, torque_knm: 1600 },
    ]);
  });
});
