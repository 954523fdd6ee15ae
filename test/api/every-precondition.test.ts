import type { Response } from 'supertest';
import type { TestApp } from '../harness/app.js';
import { addressOf, type Operation } from './operations.js';
import { DIGEST } from '../../src/common/api/examples/ground.js';
import { P } from '../../src/common/api/examples/step.js';
import { type Examples, EXAMPLES, startWithExamples } from './put-examples.js';
import { oneIn } from '../harness/sizes.js';

// Preconditions by RFC 9110, section 13, for every operation that writes a single resource.

/** Replaced and removed only with their tag: 428 without one. */
const NEEDS_TAG = /\/(shifts|class-decisions|bills)\/[^/]+(\/[^/]+)?$/;

const TEXTS = ['remark', 'description', 'name', 'contractorRepresentative', 'crewLead'];

/** Different content: another text if there is one, otherwise a value that no record has. */
const another = (body: object): object => {
  const found = TEXTS.find((name) => name in body);
  return found === undefined ? { ...body, nonsense: 1 } : { ...body, [found]: 'another' };
};

let app: TestApp;
let operations: Operation[];
let of_: Examples['operation'];
let address: Examples['address'];
let putFirst: Examples['put'];

const place = (index: number): string => {
  const [path_ = '', keys = {}] = EXAMPLES[index] ?? [];
  return address(path_, keys);
};

beforeAll(async () => {
  ({
    app,
    operations,
    operation: of_,
    address,
    put: putFirst,
  } = await startWithExamples({
    looksFirst: true,
  }));
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

it('is tried for every PUT operation', () => {
  const put = operations.filter(({ method }) => method === 'put').map((one) => one.path);
  expect([...new Set(EXAMPLES.map(([path_]) => path_))].sort()).toEqual(put.sort());
});

it('has a GET for every operation that puts or deletes a resource', () => {
  const written = operations.filter(
    ({ method, path: of }) => method === 'put' || (method === 'delete' && !of.endsWith('governing')),
  );
  expect(written.filter((one) => !of_('get', one.path)).map(({ name }) => name)).toEqual([]);
});

it('is 201 with Location when a PUT creates, and 200 when it replaces: by every PUT', () => {
  const found = putFirst.map(({ url, status, location }) => ({ url, status, location }));
  expect(found).toEqual(
    putFirst.map(({ url, stood }) =>
      stood ? { url, status: 200, location: undefined } : { url, status: 201, location: url },
    ),
  );
  expect(putFirst.filter(({ stood }) => stood).length).toBeLessThan(9);
});

it('is found at the Location of a POST: by every POST that creates', async () => {
  const creating = operations.filter(({ method, responses }) => method === 'post' && '201' in responses);
  const D = '/v1/projects/P1/drives/N';
  const made = {
    'POST /v1/projects/{project}/api-keys': app.http
      .post('/v1/projects/P1/api-keys')
      .send({ name: 'machine', scopes: ['record.read'], expiresAt: new Date(Date.now() + 86_400_000) }),
    'POST /v1/projects/{project}/drives/{drive}/attachments': app.http
      .post(`${D}/attachments`)
      .attach('file', Buffer.from('another note'), 'other.txt'),
    'POST /v1/projects/{project}/drives/{drive}/quantity-disputes': undefined, // test/payment/valuations/refused.test.ts
    'POST /v1/projects/{project}/drives/{drive}/stroke-proposals': undefined, // test/driving/samples/accepted.test.ts
  };
  expect(creating.map(({ name }) => name).sort()).toEqual(Object.keys(made).sort());
  for (const sent of Object.values(made)) {
    if (sent === undefined) continue;
    const { status, headers, text } = await sent;
    expect([status, headers['location'], text]).toEqual([201, expect.stringMatching(/^\/v1\//), text]);
    expect((await app.http.get(String(headers['location']))).status).toBe(200);
  }
});

describe.each(oneIn(16, each, 1))('$name', ({ path_, keys, body, index }) => {
  const ownsDelete = (): boolean => of_('delete', path_) !== undefined;

  it('has a strong entity tag by PUT and by GET, and is not sent again to a client that has it', async () => {
    const url = place(index);
    const got = await app.http.get(url).set('accept-encoding', 'identity');
    const tag = String(got.headers['etag']);
    expect([got.status, tag]).toEqual([200, expect.stringMatching(/^"[\x21\x23-\x7e]+"$/)]);
    for (const sent of [tag, `"x", ${tag}`, `W/${tag}`, '*']) {
      const again = await app.http.get(url).set('if-none-match', sent);
      expect([again.status, again.headers['etag'], again.text]).toEqual([304, tag, '']);
    }
    expect((await app.http.get(url).set('if-none-match', STALE)).status).toBe(200);
    refusedBy(await app.http.get(url).set('if-match', STALE), 'If-Match');
  });

  it('is not replaced, removed or created against its precondition, and nothing is written', async () => {
    const url = place(index);
    const before = await app.contents();
    const { body: standing, headers } = await app.http.get(url).set('accept-encoding', 'identity');
    const tag = String(headers['etag']);
    const other = NEEDS_TAG.test(path_) ? { ...body, remark: 'another' } : another(body);
    refusedBy(await app.http.put(url).set('if-match', STALE).send(other), 'If-Match');
    for (const sent of ['*', tag])
      for (const content of [body, other])
        refusedBy(await app.http.put(url).set('if-none-match', sent).send(content), 'If-None-Match');
    // Putting the existing content succeeds, whatever version is named (RFC 9110, section 13.1.1).
    const again = await app.http.put(url).set('if-match', STALE).send(standing);
    expect([again.status, again.headers['etag']]).toEqual([200, tag]);
    if (ownsDelete()) {
      refusedBy(await app.http.delete(url).set('if-match', STALE), 'If-Match');
      for (const sent of ['*', tag])
        refusedBy(await app.http.delete(url).set('if-none-match', sent), 'If-None-Match');
    }
    const free = address(path_, { ...keys, ...FREE });
    if (free !== url && !path_.includes('attachments'))
      refusedBy(await app.http.put(free).set('if-match', STALE).send(body), 'If-Match');
    expect(await app.contents()).toBe(before);
  });

  it('is replaced when the current version is named', async () => {
    const url = place(index);
    const tag = String((await app.http.get(url)).headers['etag']);
    const put = await app.http.put(url).set('if-match', tag).send(body);
    expect([put.status, put.headers['etag']]).toEqual([200, expect.stringMatching(/^"/)]);
    const got = await app.http.get(url).set('accept-encoding', 'identity');
    expect(got.headers['etag']).toBe(put.headers['etag']);
  });
});

/** Keys without a record. */
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

it('does not matter where nothing exists: 404, by every GET and DELETE of a resource', async () => {
  for (const { method, path: of, parameters, name } of operations) {
    const last = /\{(\w+)\}$/.exec(of)?.[1] ?? '';
    if ((method !== 'get' && method !== 'delete') || last === '' || last === 'project') continue;
    const schema = parameters.find((each) => each.name === last)?.schema;
    const free =
      schema?.type === 'integer'
        ? '9999'
        : last === 'digest'
          ? 'f'.repeat(64)
          : (FREE[last] ?? (last === 'date' ? '2031-01-01' : 'zz99999999'));
    const url = addressOf(of, parameters, { [last]: free });
    const { status } = await app.http[method](url).set('if-match', STALE);
    expect([name, status]).toEqual([name, 404]);
  }
});

it('applies to every GET that has an entity tag, files too', async () => {
  const tagged = operations.filter(({ method, responses }) => {
    const { headers } = (responses['200'] ?? {}) as { headers?: Record<string, unknown> };
    return method === 'get' && headers?.['ETag'] !== undefined;
  });
  expect(tagged.filter(({ path: of }) => of.endsWith('/content'))).toHaveLength(1);
  const url = `${address('/v1/projects/{project}/drives/{drive}/attachments/{digest}', { project: 'P1', drive: 'N', digest: DIGEST })}/content`;
  const tag = `"${DIGEST}"`;
  for (const sent of [tag, `W/${tag}`, '*']) {
    const { status, headers, text } = await app.http.get(url).set('if-none-match', sent);
    expect([status, headers['etag'], text]).toEqual([304, tag, '']);
  }
  const refused = await app.http.get(url).set('if-match', STALE);
  refusedBy(refused, 'If-Match');
  expect(refused.headers['content-disposition']).toBeUndefined();
  expect((await app.http.get(url).set('if-match', tag)).status).toBe(200);
});

/** A body that no route takes. */
const BAD = { nonsense: 1 };

it('is checked before the body, by every PUT', async () => {
  const before = await app.contents();
  for (const { index, path_, keys } of each) {
    const url = place(index);
    expect([url, (await app.http.put(url).send(BAD)).status]).toEqual([url, 422]);
    refusedBy(await app.http.put(url).set('if-match', STALE).send(BAD), 'If-Match');
    refusedBy(await app.http.put(url).set('if-none-match', '*').send(BAD), 'If-None-Match');
    const tag = String((await app.http.get(url)).headers['etag']);
    expect([url, (await app.http.put(url).set('if-match', tag).send(BAD)).status]).toEqual([url, 422]);
    const free = address(path_, { ...keys, ...FREE });
    if (free !== url && !path_.includes('attachments'))
      refusedBy(await app.http.put(free).set('if-match', STALE).send(BAD), 'If-Match');
  }
  expect(await app.contents()).toBe(before);
});

it('is checked before the body, by every action on a resource', async () => {
  const before = await app.contents();
  const tried: string[] = [];
  for (const { method, path: of, requestBody, name } of operations) {
    const parent = of.slice(0, of.lastIndexOf('/'));
    const index = EXAMPLES.findIndex(([path_]) => path_ === parent);
    if (method !== 'post' || !requestBody || index < 0 || of_('get', of) || of.endsWith('/api-keys'))
      continue;
    if (!('application/json' in requestBody.content)) continue;
    const url = `${place(index)}${of.slice(parent.length)}`;
    const answer = await app.http.post(url).set('if-match', STALE).send(BAD);
    expect([name, answer.status, answer.body.errors]).toEqual([
      name,
      412,
      [expect.objectContaining({ in: 'header', pointer: '/If-Match' })],
    ]);
    tried.push(of.replace(P, ''));
  }
  expect(tried).toContain('/drives/{drive}/class-decisions/{number}/agree');
  expect(tried.length).toBeGreaterThan(8);
  expect(await app.contents()).toBe(before);
});

describe('an action on a resource', () => {
  it('that names another version is refused', async () => {
    const before = await app.contents();
    for (const action of ['agree-as-governing', 'withdraw-as-governing', 'propose-as-governing'])
      refusedBy(
        await app.http
          .post(`/v1/projects/P1/drives/N/ground-logs/G1/${action}`)
          .set('if-match', STALE)
          .send(action === 'agree-as-governing' ? {} : { reason: 'x' }),
        'If-Match',
      );
    expect(await app.contents()).toBe(before);
  });
});

describe('two that replace the same version at once', () => {
  it('do not both succeed: one of them is refused', async () => {
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

  it('nor does one by GraphQL between the check of the other and its write', async () => {
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
      // Either order is possible: REST first and then GraphQL, or GraphQL first and REST refused.
      expect([200, 412]).toContain(rest.status);
      expect((await app.http.get(url)).body.description).toBe('by GraphQL');
    }
  });
});
