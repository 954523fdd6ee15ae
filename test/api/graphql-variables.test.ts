import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';

// All parts of a GraphQL request take effect, and an answer with a secret is not stored by caches.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const GRAPHQL = 'application/graphql-response+json';

const ask = (body: object) => app.http.post('/graphql').set('accept', GRAPHQL).send(body);

describe('a variable that the operation does not declare', () => {
  const query = 'query($drive: String!) { drive(project: "P1", drive: $drive) { code } }';

  it('is refused by name, with those that it declares, and nothing is read', async () => {
    const { status, body } = await ask({ query, variables: { drive: 'N', asof: '2027-03-01', 'a/b': 1 } });
    expect([status, body.data]).toEqual([400, undefined]);
    expect(body.errors[0].extensions).toMatchObject({
      code: 'malformed',
      errors: [
        {
          in: 'argument',
          pointer: '/variables/asof',
          value: '2027-03-01',
          detail: 'unknown variable "$asof" of the operation: it declares $drive',
        },
        {
          in: 'argument',
          pointer: '/variables/a~1b',
          value: 1,
          detail: 'unknown variable "$a/b" of the operation: it declares $drive',
        },
      ],
    });
  });

  it('is refused in a mutation before it writes', async () => {
    const put =
      'mutation { putEquipment(project: "P1", code: "BELT", input: { description: "x" }) { code } }';
    const before = await app.contents();
    const { status, body } = await ask({ query: put, variables: { constructor: 'x' } });
    expect([status, body.errors[0].message]).toEqual([
      400,
      'unknown variable "$constructor" of the operation: it declares none',
    ]);
    expect(await app.contents()).toBe(before);
  });

  it('may be declared by another operation of the document', async () => {
    const both = `${query.replace('query', 'query one')} query two { projects { code } }`;
    const { status, body } = await ask({ query: both, operationName: 'two', variables: { drive: 'N' } });
    expect([status, body]).toEqual([200, { data: { projects: [{ code: 'P1' }] } }]);
  });
});

it('ignores extensions of the protocol, by which clients name themselves', async () => {
  const { status, body } = await ask({
    query: '{ projects { code } }',
    extensions: { clientLibrary: { name: 'a client' } },
  });
  expect([status, body]).toEqual([200, { data: { projects: [{ code: 'P1' }] } }]);
});

describe('an answer', () => {
  it('to a mutation may not be stored: it may contain a secret', async () => {
    const expiresAt = new Date(Date.now() + 86_400_000).toISOString();
    const query = `mutation { createApiKey(project: "P1", input: { name: "m", scopes: ["record.read"], expiresAt: "${expiresAt}" }) { key } }`;
    const { body, headers } = await ask({ query });
    expect(body.errors).toBeUndefined();
    expect([headers['cache-control'], typeof body.data.createApiKey.key]).toEqual(['no-store', 'string']);
  });

  it('to a query is private to the caller', async () => {
    const { headers } = await ask({ query: '{ projects { code } }' });
    expect(headers['cache-control']).toBe('private, no-cache');
  });
});
