import { createHash } from 'node:crypto';
import { mkdtemp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Response } from 'supertest';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../support/app.js';
import { addressOf, type Operation, operationsOf } from './operations.js';

// Preconditions by RFC 9110, section 13, of every operation that writes a single resource.

const D = '/v1/projects/{project}/drives/{drive}';
const P = '/v1/projects/{project}';
const NOTE = 'a note';
const DIGEST = createHash('sha256').update(NOTE).digest('hex');
const ITEM = { reference: 'B.1', description: 'Bolts', unit: 'nr', decimals: 0, quantity: '1', rate: '1' };
const BOLTS = { item: 'BOLT', zone: 'L1', quantityPerM: '2' };
const AT = '2026-03-01T08:00:00Z';

/** What is put, in an order in which each finds what it needs, and the keys in its address. */
const EXAMPLES: [path: string, keys: Record<string, string>, body: object][] = [
  [P, {}, { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' }],
  [`${P}/parties/{party}`, { party: 'JV' }, { name: 'The joint venture', kind: 'contractor' }],
  [`${P}/members/{subject}`, { subject: 'someone' }, { roles: ['viewer'] }],
  [
    `${P}/calendar-shifts/{code}`,
    { code: 'day' },
    { startTime: '06:00', endTime: '18:00', weekdays: [1, 2, 3, 4, 5, 6, 7] },
  ],
  [
    `${P}/calendars/{validFrom}`,
    { validFrom: '2029-01-01' },
    { shifts: [{ name: 'day', startTime: '07:00', endTime: '15:00', weekdays: [1] }] },
  ],
  [
    `${P}/closures/{code}`,
    { code: 'C' },
    { name: 'Break', fromDate: '2027-12-24', toDate: '2027-12-26', planned: true },
  ],
  [`${P}/zones/{code}`, { code: 'L9' }, { name: 'Far behind' }],
  [`${P}/activity-codes/{code}`, { code: 'WAIT' }, { description: 'Waiting', countsAs: 'waiting' }],
  [`${P}/equipment/{code}`, { code: 'BELT' }, { description: 'Belt' }],
  [`${P}/ground-classes/{code}`, { code: 'C' }, { description: 'Poor rock' }],
  [`${P}/ground-classes/{code}/standard-support`, { code: 'A' }, { edition: '1', items: [BOLTS] }],
  [`${P}/support-items/{code}`, { code: 'PLATE' }, { kind: 'mesh', unit: 'm2', description: 'Plates' }],
  [`${P}/machines/{machine}`, { machine: 'M2' }, { name: 'Two', discCount: 40, discRadiusMm: '216' }],
  [
    D,
    { drive: 'S' },
    { name: 'South', startChainage: '1+200', endChainage: '2+200', direction: 1, boredDiameterM: '7' },
  ],
  [
    `${D}/shifts/{date}/{shift}`,
    {},
    aShift('2027-03-01').withStroke(1, '1+200', '1+201.7', '06:00', '06:40').build(),
  ],
  [`${D}/probe-holes/{name}`, { name: 'PH1' }, { collar: '1+201', lookOutDeg: '5', lengthM: '20' }],
  [`${D}/attachments/{digest}`, { digest: DIGEST }, { caption: 'A note' }],
  [
    `${D}/discontinuities/{name}`,
    { name: 'J1' },
    { chainage: '1+201', type: 'joint', dipDeg: '60', dipDirectionDeg: '120' },
  ],
  [
    `${D}/overbreak/{name}`,
    { name: 'O1' },
    { from: '1+200', to: '1+201', cause: 'geological', volumeM3: '1' },
  ],
  [
    `${D}/ground-logs/{name}`,
    { name: 'G1' },
    { from: '1+200', to: '1+201', mappedBy: 'Gerda', mappedAt: AT },
  ],
  [
    `${D}/programmes/{programme}`,
    { programme: 'B1' },
    {
      points: [
        { date: '2027-03-01', chainage: '1+200' },
        { date: '2027-04-01', chainage: '1+300' },
      ],
    },
  ],
  [`${D}/class-decisions/{number}`, { number: '1' }, { from: '1+200', to: '1+201', groundClass: 'A' }],
  [
    `${D}/baselines/{baseline}`,
    { baseline: 'T' },
    {
      workingHoursPerDay: '20',
      intervals: [{ from: '1+200', to: '2+200', groundClass: 'A', advanceRateMPerD: '10' }],
    },
  ],
  [
    `${D}/entitlements/{entitlement}`,
    { entitlement: 'E' },
    {
      rule: 'proportional',
      tenderedWeeks: '10',
      workingHoursPerWeek: '100',
      items: [{ code: 'PROBE', source: 'probe_metres', hoursPerUnit: '1', tenderedQuantity: '5' }],
    },
  ],
  [
    `${D}/bills/{version}`,
    { version: 'V1' },
    {
      validFrom: '2027-01-01',
      items: [ITEM, { ...ITEM, reference: 'L.1', description: 'Setting up', unit: 'sum' }],
    },
  ],
  [
    `${D}/bills/{version}/rules/{reference}`,
    { version: 'V1', reference: 'B.1' },
    { source: 'support', dimension: 'count', kinds: ['bolt'] },
  ],
  [
    `${D}/bills/{version}/rules/{reference}`,
    { version: 'V1', reference: 'L.1' },
    { source: 'lump', dimension: 'percent' },
  ],
  [`${D}/lump-progress/{reference}/{day}`, { reference: 'L.1', day: '2027-03-01' }, { percent: '10' }],
  [`${D}/valuations/{number}`, { number: '1' }, { cutOff: '2027-03-31' }],
  [
    `${D}/design-sections/{name}`,
    { name: 'DS1' },
    { edition: '1', from: '1+300', to: '1+400', items: [BOLTS] },
  ],
  [`${P}/acceptance-rules/{validFrom}`, { validFrom: '2027-03-01' }, { days: 7, clause: '12.3' }],
  [`${P}/notice-rules/{code}`, { code: 'CLAIM' }, { name: 'Claim', days: 14, clause: '20.1' }],
  [`${D}/notices/{code}`, { code: 'N1' }, { rule: 'CLAIM', happenedAt: AT, concerns: 'Water at the face' }],
  [`${D}/support-limits`, {}, { limits: [{ zone: 'L1', limitM: '10' }] }],
];

/** They answer what stands already with "unchanged", whatever the precondition: safe to repeat. */
const ANSWERS_UNCHANGED = /\/(shifts|class-decisions|bills)\/[^/]+(\/[^/]+)?$/;

let app: TestApp;
let operations: Operation[];

const of_ = (method: string, path_: string): Operation | undefined =>
  operations.find((each) => each.method === method && each.path === path_);

const address = (path_: string, keys: Record<string, string>): string =>
  addressOf(path_, of_('put', path_)?.parameters ?? [], keys);

const place = (index: number): string => {
  const [path_ = '', keys = {}] = EXAMPLES[index] ?? [];
  return address(path_, keys);
};

beforeAll(async () => {
  const folder = await mkdtemp(path.join(tmpdir(), 'conditions-'));
  app = await startApp({ ATTACHMENTS_DIR: folder });
  await aProject(app);
  operations = operationsOf(app);
  const attached = await app.http
    .post('/v1/projects/P1/drives/N/attachments')
    .attach('file', Buffer.from(NOTE), 'note.txt');
  expect([attached.status, attached.body.digest]).toEqual([201, DIGEST]);
  const refused: string[] = [];
  for (const [index, [, , body]] of EXAMPLES.entries()) {
    const { status, headers, text } = await app.http.put(place(index)).send(body);
    if (status >= 300) refused.push(`${place(index)}: ${text}`);
    if (status === 201) expect(headers['location']).toBe(place(index));
  }
  expect(refused).toEqual([]);
});

afterAll(() => app.close());

const each = EXAMPLES.map(([path_, keys, body], index) => ({
  path_,
  keys,
  body,
  index,
  name: path_.replace(P, '') || 'a project',
}));

const STALE = '"of-another-day"';

const refusedBy = (answer: Response, header: string): void => {
  expect([answer.status, answer.body.errors]).toEqual([
    412,
    [expect.objectContaining({ in: 'header', pointer: `/${header}` })],
  ]);
};

it('is tried of every operation that puts', () => {
  const put = operations.filter(({ method }) => method === 'put').map((one) => one.path);
  expect([...new Set(EXAMPLES.map(([path_]) => path_))].sort()).toEqual(put.sort());
});

it('has a GET for every operation that puts or deletes a resource', () => {
  const written = operations.filter(
    ({ method, path: of }) => method === 'put' || (method === 'delete' && !of.endsWith('ruling')),
  );
  expect(written.filter((one) => !of_('get', one.path)).map(({ name }) => name)).toEqual([]);
});

describe.each(each)('$name', ({ path_, keys, body, index }) => {
  const ownsDelete = (): boolean => of_('delete', path_) !== undefined;

  it('has a strong entity tag by PUT and by GET, and is not sent again to whoever has it', async () => {
    const url = place(index);
    const got = await app.http.get(url);
    const tag = String(got.headers['etag']);
    expect([got.status, tag]).toEqual([200, expect.stringMatching(/^"[\x21\x23-\x7e]+"$/)]);
    for (const sent of [tag, `"x", ${tag}`, `W/${tag}`, '*']) {
      const again = await app.http.get(url).set('if-none-match', sent);
      expect([again.status, again.headers['etag'], again.text]).toEqual([304, tag, '']);
    }
    expect((await app.http.get(url).set('if-none-match', STALE)).status).toBe(200);
    refusedBy(await app.http.get(url).set('if-match', STALE), 'If-Match');
  });

  it('is not replaced, removed or made anew against its precondition, and nothing is written', async () => {
    const url = place(index);
    const before = await app.contents();
    // What is native answers "unchanged" to what stands; here something else is sent.
    const other = { ...body, ...(ANSWERS_UNCHANGED.test(path_) ? { remark: 'another' } : {}) };
    refusedBy(await app.http.put(url).set('if-match', STALE).send(other), 'If-Match');
    refusedBy(await app.http.put(url).set('if-none-match', '*').send(other), 'If-None-Match');
    if (ownsDelete()) refusedBy(await app.http.delete(url).set('if-match', STALE), 'If-Match');
    const free = address(path_, { ...keys, ...FREE });
    if (free !== url && !path_.includes('attachments'))
      refusedBy(await app.http.put(free).set('if-match', STALE).send(body), 'If-Match');
    expect(await app.contents()).toBe(before);
  });

  it('is replaced by whoever names the version that stands', async () => {
    const url = place(index);
    const tag = String((await app.http.get(url)).headers['etag']);
    const put = await app.http.put(url).set('if-match', tag).send(body);
    expect([put.status, put.headers['etag']]).toEqual([200, expect.stringMatching(/^"/)]);
    expect((await app.http.get(url)).headers['etag']).toBe(put.headers['etag']);
  });
});

/** Keys under which nothing stands. */
const FREE: Record<string, string> = {
  party: 'ZZ',
  subject: 'nobody',
  code: 'ZZ',
  validFrom: '2031-01-01',
  machine: 'ZZ',
  name: 'ZZ',
  programme: 'ZZ',
  number: '2',
  baseline: 'ZZ',
  entitlement: 'ZZ',
  version: 'ZZ',
  day: '2027-03-02',
};

describe('an action on a resource', () => {
  it('that names another version is refused', async () => {
    const before = await app.contents();
    for (const action of ['agree-ruling', 'withdraw-ruling', 'propose-ruling'])
      refusedBy(
        await app.http
          .post(`/v1/projects/P1/drives/N/ground-logs/G1/${action}`)
          .set('if-match', STALE)
          .send({ reason: 'x', groundClass: 'A' }),
        'If-Match',
      );
    expect(await app.contents()).toBe(before);
  });
});

describe('two who replace the same version at once', () => {
  it('are not both taken: one of them is refused', async () => {
    const url = '/v1/projects/P1/equipment/BELT';
    for (let round = 0; round < 5; round += 1) {
      const tag = String((await app.http.get(url)).headers['etag']);
      const answers = await Promise.all(
        ['a', 'b', 'c'].map((who) =>
          app.http
            .put(url)
            .set('if-match', tag)
            .send({ description: `Belt ${round} ${who}` }),
        ),
      );
      expect(answers.map(({ status }) => status).sort()).toEqual([200, 412, 412]);
    }
  });

  it('nor is one by GraphQL between the check of the other and its write', async () => {
    const url = '/v1/projects/P1/equipment/BELT';
    const query = `mutation { putEquipment(project: "P1", code: "BELT", input: { description: "by GraphQL" }) { code } }`;
    for (let round = 0; round < 5; round += 1) {
      await app.http.put(url).send({ description: `round ${round}` });
      const tag = String((await app.http.get(url)).headers['etag']);
      const [rest, graph] = await Promise.all([
        app.http.put(url).set('if-match', tag).send({ description: 'by REST' }),
        app.http.post('/graphql').send({ query }),
      ]);
      expect(graph.body.errors).toBeUndefined();
      // Whoever comes second stands: REST first and then GraphQL, or GraphQL first and REST refused.
      expect([200, 412]).toContain(rest.status);
      expect((await app.http.get(url)).body.description).toBe('by GraphQL');
    }
  });
});
