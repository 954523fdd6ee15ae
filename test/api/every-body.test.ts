import { aProject } from '../builders/project.js';
import { openApiOf } from '../../src/common/api/openapi.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type Operation, operationsOf } from './operations.js';
import { oneIn } from '../harness/sizes.js';

// No body makes the service fail: tried on all operations that take one, and on the cases that once did.

let app: TestApp;
let taking: Operation[];
let before: string;

interface Schema {
  $ref?: string;
  properties?: Record<string, unknown>;
}

let schemas: Record<string, Schema>;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  schemas = openApiOf(app.app).components?.schemas as Record<string, Schema>;
  taking = operationsOf(app).filter(({ requestBody }) => requestBody !== undefined);
  before = await app.contents();
});

afterEach(async () => {
  expect(await app.contents()).toBe(before);
});

afterAll(() => app.close());

const isForm = ({ requestBody }: Operation): boolean =>
  requestBody?.content['multipart/form-data'] !== undefined;

const propertiesOf = ({ requestBody }: Operation): string[] => {
  const { schema } = (requestBody?.content['application/json'] ?? {}) as { schema?: Schema };
  return Object.keys(schemas[schema?.$ref?.split('/').at(-1) ?? '']?.properties ?? {});
};

const PROBLEM = expect.stringContaining('application/problem+json') as string;

const refusedJson = async ({ name, method, address }: Operation, body: string): Promise<void> => {
  const answer = await app.http[method](address).set('content-type', 'application/json').send(body);
  expect([name, body.slice(0, 80), answer.status, answer.headers['content-type']]).toEqual([
    name,
    body.slice(0, 80),
    expect.any(Number),
    PROBLEM,
  ]);
  expect([400, 404, 409, 422, 428]).toContain(answer.status);
};

describe('a body where the route has none', () => {
  it('is refused by every GET (RFC 9110, section 9.3.1)', async () => {
    const readings = operationsOf(app).filter(({ method }) => method === 'get');
    expect(readings.length).toBeGreaterThan(150);
    for (const { name, address } of readings) {
      const { status, body } = await app.http
        .get(address)
        .set('content-type', 'application/json')
        .send('{"a":1}');
      expect([name, status, body.errors]).toEqual([
        name,
        422,
        [{ in: 'body', pointer: '', detail: 'this route takes no body' }],
      ]);
    }
    expect((await app.http.get('/v1/projects').set('content-length', '0')).status).toBe(200);
  });

  const sent = ({ name, method, address }: Operation) => ({ name, ask: () => app.http[method](address) });
  const without = (): ReturnType<typeof sent>[] =>
    operationsOf(app)
      .filter(({ method, requestBody }) => method !== 'get' && requestBody === undefined)
      .map(sent);

  it('is refused by every action, which is not carried out', async () => {
    expect(without().length).toBeGreaterThan(30);
    for (const { name, ask } of without()) {
      const { status, body } = await ask().send({ dryRun: true });
      const detail = 'unknown field "dryRun": this route takes no body';
      const errors = [{ in: 'body', pointer: '/dryRun', value: true, detail }];
      expect([name, status, body.errors]).toEqual([name, 422, errors]);
    }
  });
});

describe('a JSON body', () => {
  const BODIES = [
    'null',
    '[]',
    '"text"',
    '[[null]]',
    '['.repeat(2000),
    '['.repeat(2000) + ']'.repeat(2000),
    `${'{"a":'.repeat(500)}1${'}'.repeat(500)}`,
    '{"__proto__":{"a":1}}',
    '{"constructor":{"prototype":1}}',
    '{"toString":1,"hasOwnProperty":2}',
    '{',
  ].map((body, place) => [body, place] as const);

  it.each(BODIES)('that does not fit the route is refused, on every route: %.40s', async (body, place) => {
    expect(taking.length).toBeGreaterThan(35);
    const routes = taking.filter((each) => !isForm(each));
    for (const operation of oneIn(BODIES.length, routes, place)) await refusedJson(operation, body);
  });

  it('with a property of another type is refused, for each property of each route', async () => {
    // Where everything else is optional, null counts as absent, so such a body would be carried out.
    const values = ['[null]', '{"__proto__":null}', '1e-7', '"constructor"'];
    const bodies = taking
      .filter((each) => !isForm(each))
      .flatMap((operation) =>
        propertiesOf(operation).flatMap((property) =>
          values.map((value) => ({ operation, body: `{"${property}":${value}}` })),
        ),
      );
    for (const { operation, body } of oneIn(18, bodies)) await notFailed(operation, body);
    before = await app.contents(); // "constructor" may be a valid code
  });
});

describe('no body', () => {
  it('is refused by every PUT', async () => {
    const putting = taking.filter(({ method }) => method === 'put');
    expect(putting.length).toBeGreaterThan(35);
    for (const { name, address } of putting) {
      const { status, body } = await app.http.put(address);
      expect([name, status, body.errors]).toEqual([
        name,
        422,
        [{ in: 'body', pointer: '', detail: 'the body is missing: send the record to be put' }],
      ]);
      const empty = await app.http.put(address).set('content-type', 'application/json').send('');
      expect([name, empty.status, empty.body.detail]).toEqual([
        name,
        400,
        'The body is empty: send JSON, or no Content-Type.',
      ]);
    }
  });
});

const notFailed = async ({ name, method, address }: Operation, body: string): Promise<void> => {
  const answer = await app.http[method](address).set('content-type', 'application/json').send(body);
  expect([name, body, answer.status < 500]).toEqual([name, body, true]);
};

describe('a form', () => {
  const forms = ['multipart/form-data', 'multipart/form-data; boundary=', 'multipart/form-data; boundary=B'];
  const part = '--B\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\nx';
  const bodies = [
    '',
    'x',
    '--B',
    '--B--',
    '--B\r\n\r\n\r\n',
    part,
    `${part}\r\n--B`,
    `${part}\r\n--B\r\nnonsense`,
    part.replace('name="file"; ', ''),
    `${part.replace('name="file"; filename="a.csv"', 'name="__proto__"')}\r\n--B--\r\n`,
    `${part.replace('name="file"; filename="a.csv"', 'name="map"\r\nContent-Type: application/json')}${'['.repeat(2000)}\r\n--B--\r\n`,
  ];

  it('that is broken is refused, on every route that accepts one', async () => {
    const routes = taking.filter(isForm);
    expect(routes.length).toBeGreaterThanOrEqual(5);
    let place = 0;
    for (const { name, method, address } of routes)
      for (const type of forms)
        for (const body of oneIn(8, bodies, (place += 1))) {
          const { status, headers } = await app.http[method](address).set('content-type', type).send(body);
          expect([name, type, body, headers['content-type']]).toEqual([name, type, body, PROBLEM]);
          expect([name, type, body, [400, 413, 415, 422].includes(status) ? 'refused' : status]).toEqual([
            name,
            type,
            body,
            'refused',
          ]);
        }
  });
});

describe('null for an optional property', () => {
  it('counts as left out for the thresholds of a proposal', async () => {
    const span = { from: '2027-03-01T05:00:00Z', to: '2027-03-01T07:00:00Z', thresholds: null };
    const { status, body } = await app.http.post('/v1/projects/P1/drives/N/stroke-proposals').send(span);
    expect([status, (body as { detail: string }).detail]).toEqual([
      422,
      expect.stringContaining('has no machine samples'),
    ]);
  });

  it('counts as left out for the lists of a measurement rule', async () => {
    const bill = '/v1/projects/P1/drives/N/bills/V1';
    const item = {
      reference: 'B.1',
      description: 'Bolts',
      unit: 'nr',
      decimals: 0,
      quantity: '1',
      rate: '1',
    };
    expect((await app.http.put(bill).send({ validFrom: '2027-01-01', items: [item] })).status).toBe(201);
    const lists = [
      'items',
      'kinds',
      'zones',
      'classes',
      'lithologies',
      'activities',
      'timeClasses',
      'parties',
    ];
    const rule = { source: 'support', dimension: 'count', kinds: ['bolt'] };
    const nothing = Object.fromEntries(lists.map((list) => [list, null]));
    const put = await app.http.put(`${bill}/rules/B.1`).send({ ...nothing, ...rule });
    expect([put.status, put.body.kinds]).toEqual([201, ['bolt']]);
    const { headers } = await app.http.get(bill);
    expect((await app.http.delete(`${bill}/rules/B.1`)).status).toBe(204);
    expect((await app.http.delete(bill).set('if-match', String(headers['etag']))).status).toBe(204);
  });
});
