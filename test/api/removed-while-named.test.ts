import pg from 'pg';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { until, waitingSessions } from '../harness/until.js';

// A code is removed while a document that names it by text is put: whichever comes first, no document names a removed code. By GraphQL, because
// PUT by REST locks the history from its precondition on.

const D = '/v1/projects/P1/drives/N';
const P = '/v1/projects/P1';

let app: TestApp;
let holder: pg.Client;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const item = { description: 'x', decimals: 0, quantity: '1', rate: '1' };
  const items = [
    { ...item, reference: 'B.1', unit: 'nr' },
    { ...item, reference: 'W.1', unit: 'h' },
  ];
  const { status } = await app.http.put(`${D}/bills/V1`).send({ validFrom: '2027-01-01', items });
  expect(status).toBe(201);
  holder = new pg.Client({ connectionString: app.url });
  await holder.connect();
});

afterAll(async () => {
  await holder.end();
  await app.close();
});

const rule = (reference: string, body: object): [string, object] => [
  `${D}/bills/V1/rules/${reference}`,
  body,
];
const support = { source: 'support', dimension: 'count' };
const demand = { edition: '1', items: [{ item: 'BOLT', zone: 'L9', quantityPerM: '1' }] };
const weeks = { rule: 'proportional', tenderedWeeks: '10', workingHoursPerWeek: '100' };

const entitlement = (source: string, code: string): [string, object] => [
  `${D}/entitlements/E`,
  { ...weeks, items: [{ code, source, reference: code, hoursPerUnit: '1', tenderedQuantity: '5' }] },
];

/** What is removed, its prerequisites, and the document that names it. */
const CASES: [name: string, removed: string, body: object, document: [string, object]][] = [
  [
    'an activity code and a measurement rule',
    '/activity-codes/GONE',
    { description: 'x', countsAs: 'waiting' },
    rule('W.1', { source: 'time', dimension: 'hours', activities: ['GONE'] }),
  ],
  [
    'a ground class and a measurement rule',
    '/ground-classes/GONE',
    { description: 'x' },
    rule('B.1', { ...support, classes: ['GONE'] }),
  ],
  [
    'a support item and a measurement rule',
    '/support-items/GONE',
    { kind: 'bolt', unit: 'nr', description: 'x' },
    rule('B.1', { ...support, items: ['GONE'] }),
  ],
  ['a zone and a measurement rule', '/zones/L9', { name: 'x' }, rule('B.1', { ...support, zones: ['L9'] })],
  [
    'an activity code and an entitlement',
    '/activity-codes/GONE',
    { description: 'x', countsAs: 'waiting' },
    entitlement('activity_hours', 'GONE'),
  ],
  [
    'a ground class and an entitlement',
    '/ground-classes/GONE',
    { description: 'x' },
    entitlement('class_metres', 'GONE'),
  ],
  ['a zone and a standard', '/zones/L9', { name: 'x' }, [`${P}/ground-classes/A/standard-support`, demand]],
  [
    'a zone and a design section',
    '/zones/L9',
    { name: 'x' },
    [`${D}/design-sections/S1`, { ...demand, from: '1+300', to: '1+400' }],
  ],
  [
    'a zone and the limits of a drive',
    '/zones/L9',
    { name: 'x' },
    [`${D}/support-limits`, { limits: [{ zone: 'L9', limitM: '10' }] }],
  ],
  [
    'a zone and a shift',
    '/zones/L9',
    { name: 'x' },
    [
      `${D}/shifts/2027-03-01/day`,
      aShift()
        .withStroke(1, '1+200', '1+201', '06:00', '07:00')
        .withSupport('BOLT', '1+200', '1+201', '1', { zone: 'L9' })
        .build(),
    ],
  ],
];

/** The mutation for what an address names, and its arguments. */
const mutationOf = (url: string): string => {
  const [kind = '', ...keys] = url.replace(`${D}/`, '').replace(`${P}/`, '').split('/');
  const drive = url.startsWith(D) ? ', drive: "N"' : '';
  const call = (name: string, args: string, sent = 'input', type = `${name}Input`): string =>
    `mutation ($sent: ${type}!) { put${name}(project: "P1"${drive}${args}, ${sent}: $sent) { __typename } }`;
  switch (kind) {
    case 'bills':
      return call(
        'BillRule',
        `, version: "V1", reference: "${keys.at(-1)}"`,
        'input',
        'MeasurementRuleInput',
      );
    case 'entitlements':
      return call('Entitlement', ', entitlement: "E"');
    case 'design-sections':
      return call('DesignSection', ', name: "S1"');
    case 'ground-classes':
      return call('GroundClassStandardSupport', ', code: "A"', 'input', 'StandardSupportInput');
    case 'support-limits':
      return call('SupportLimits', '');
    default:
      return call('Shift', ', date: "2027-03-01", shift: "day"', 'document', 'ShiftDocumentInput');
  }
};

/** The result as an HTTP status. */
const putBy = async (url: string, sent: object): Promise<number> => {
  const { body } = await app.http.post('/graphql').send({ query: mutationOf(url), variables: { sent } });
  return (body.errors?.[0]?.extensions?.status as number | undefined) ?? (body.errors ? 400 : 200);
};

const waiting = async (): Promise<number> => (await waitingSessions(app)).length;

describe.each(CASES)('%s at once', (_name, removed, body, [url, document]) => {
  beforeEach(async () => {
    expect((await app.http.put(P + removed).send(body)).status).toBe(201);
  });

  it.each(['the removal first', 'the document first'])('%s', async (first) => {
    const remove = () => app.http.delete(P + removed).then(({ status }) => status);
    const put = () => putBy(url, document);
    const order = first === 'the removal first' ? [remove, put] : [put, remove];
    // both advance as far as they can while nobody may write; then the first to arrive continues first
    await holder.query('begin');
    await holder.query(
      `select pg_advisory_xact_lock(hashtext('drivebook.history'), id) from project where code = 'P1'`,
    );
    const answers: Promise<number>[] = [];
    let unanswered = 0;
    for (const send of order) {
      unanswered += 1;
      answers.push(send().finally(() => (unanswered -= 1)));
      await until(async () => (await waiting()) >= unanswered); // an answered one did not wait, as it should
    }
    await holder.query('commit');
    const found = await Promise.all(answers);
    expect(found).toEqual(first === 'the removal first' ? [204, 422] : [200, 409]);
    if (first === 'the document first') {
      const { headers } = await app.http.get(url);
      const gone = url.endsWith('/support-limits')
        ? await app.http.put(url).set('if-match', String(headers['etag'])).send({ limits: [] })
        : await app.http.delete(url).set('if-match', String(headers['etag']));
      expect(gone.status).toBeLessThan(300);
      expect(await remove()).toBe(204);
    }
  });
});
