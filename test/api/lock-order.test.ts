import pg from 'pg';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { untilOneWaits } from '../harness/until.js';

// Writers of what belongs to a project as a whole follow each other by its history, and lock no row before it is their turn: a write by GraphQL and a
// conditional one by REST would else wait for each other, each with what the other needs, and one of the two would be refused (40P01, 503).

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
    // as the write would that has the history
    const free = await prober.query(`select from ${table} where code = 'LOCKED' for no key update nowait`);
    expect(free.rowCount).toBe(1);
  } finally {
    await holder.query('commit');
  }
  expect(await waiting).toEqual({ data: { [field]: { [key]: 'LOCKED' } } });
});
