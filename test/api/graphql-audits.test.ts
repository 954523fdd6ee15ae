import { type AuditResult, serverAudits } from 'graphql-http';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';

// The audits of GraphQL over HTTP that come with graphql-http, each by its id: https://graphql-http.com/audits

/**
 * Options that a server MAY support and this one does not: a query by GET would end up in logs and histories, and any page could
 * have it sent.
 */
const BY_GET = ['5A70', 'D6D5', '6A70'];

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const audits = serverAudits({ url: async () => `${await app.app.getUrl()}/graphql` });

const failure = (result: AuditResult): string | undefined =>
  result.status === 'ok' ? undefined : `${result.status}: ${result.reason}`;

it('are all run', () => {
  expect(audits.length).toBeGreaterThanOrEqual(61);
  expect(new Set(audits.map(({ id }) => id)).size).toBe(audits.length);
  const left = audits.filter(({ id }) => BY_GET.includes(id));
  expect(left.map(({ name }) => name.slice(0, 4))).toEqual(['MAY ', 'MAY ', 'MAY ']);
});

it.each(
  audits.filter(({ id }) => !BY_GET.includes(id)).map((audit) => [audit.id, audit.name, audit] as const),
)('%s: %s', async (_id, _name, audit) => {
  expect(failure(await audit.fn())).toBeUndefined();
});

it.each(
  audits.filter(({ id }) => BY_GET.includes(id)).map((audit) => [audit.id, audit.name, audit] as const),
)('%s: %s; answered 405 with what is taken', async (_id, _name, audit) => {
  const result = await audit.fn();
  if (result.status === 'ok') throw new Error('taken by GET');
  expect([result.response.status, result.response.headers.get('allow')]).toEqual([405, 'POST, OPTIONS']);
});

describe('what the audits leave open', () => {
  const GRAPHQL = 'application/graphql-response+json';
  const ask = (body: object, accept = GRAPHQL) => app.http.post('/graphql').set('accept', accept).send(body);

  it('an operation that was carried out is 200, with its errors beside the data', async () => {
    const query = '{ __typename project(project: "NONE") { code } }';
    const { status, body } = await ask({ query });
    expect([status, body.errors.length, 'data' in body]).toEqual([200, 1, true]);
  });

  it('one refused by a limit has the status of its problem, and no data', async () => {
    const query = `{ ${Array.from({ length: 200 }, (_, i) => `a${i}: projects { name }`).join(' ')} }`;
    const { status, type, body } = await ask({ query });
    expect([status, type, Object.keys(body), body.errors[0].extensions.status]).toEqual([
      422,
      GRAPHQL,
      ['errors'],
      422,
    ]);
  });

  it.each([
    ['syntax', '{ projects {', {}],
    ['an unknown field', '{ nonsense }', {}],
    [
      'a variable that does not fit',
      'query ($n: Int!) { rateLimit: __type(name: "Int") { fields(includeDeprecated: true) { name } } a: projects { name } }',
      {},
    ],
  ])('an error of %s has a code, type and status like all others', async (_, query, variables) => {
    const { body } = await ask({ query, variables });
    const own = { code: 'malformed', type: '/docs/problems#malformed', status: 400 };
    expect(body.errors).toEqual([expect.objectContaining({ extensions: expect.objectContaining(own) })]);
  });

  it('an invalid argument is reported as an argument, wherever REST has it', async () => {
    const of = async (field: string): Promise<unknown> => {
      const { body } = await ask({ query: `{ ${field} }` });
      return body.errors[0].extensions.errors;
    };
    expect(await of('changes(project: "P1", drive: "NONE") { nodes { number } }')).toEqual([
      expect.objectContaining({ in: 'argument', pointer: '/drive' }),
    ]);
    expect(await of('project(project: "?") { code }')).toEqual([
      expect.objectContaining({ in: 'argument', pointer: '/project' }),
    ]);
  });

  it('a request that cannot be read is answered by a problem that names the parameter', async () => {
    const { status, type, body } = await ask({ query: '{ __typename }', variables: [1] }, 'application/json');
    expect([status, type, body.errors]).toEqual([
      400,
      'application/problem+json',
      [{ in: 'body', pointer: '/variables', value: 'an array of 1', detail: 'variables must be an object' }],
    ]);
  });

  it('one that names an operation which is not in the query is refused, however often', async () => {
    for (const query of [
      '{ __typename }',
      'query A { __typename }',
      'query A { __typename } query C { __typename }',
    ])
      for (let time = 0; time < 3; time += 1) {
        const { status, body } = await ask({ query, operationName: 'B' });
        expect([query, status, body.errors[0].message]).toEqual([
          query,
          400,
          'There is no operation "B" in the query.',
        ]);
      }
  });

  it('nothing is ignored: neither a parameter of the body nor one of the address', async () => {
    const { status, body } = await ask({ query: '{ __typename }', operationname: 'A', 'a/b': 1 });
    expect([status, body.errors.map(({ pointer }: { pointer: string }) => pointer)]).toEqual([
      400,
      ['/operationname', '/a~1b'],
    ]);
    const asked = await app.http.post('/graphql?query=x&x=1').send({ query: '{ __typename }' });
    expect([asked.status, asked.body.errors]).toEqual([
      422,
      [
        expect.objectContaining({ in: 'query', pointer: '/query' }),
        expect.objectContaining({ in: 'query', pointer: '/x' }),
      ],
    ]);
  });

  it('many errors arrive whole when compressed', async () => {
    const query = `{ __typename ${'@skip(if: false) '.repeat(60)}}`;
    const plain = await ask({ query }).set('accept-encoding', 'identity');
    expect(plain.text.length).toBeGreaterThan(8192);
    for (const encoding of ['gzip', 'br']) {
      const { headers, text } = await ask({ query }).set('accept-encoding', encoding);
      expect([headers['content-encoding'], text]).toEqual([encoding, plain.text]);
    }
  });

  it('by the order and quality of Accept', async () => {
    const typeBy = async (accept: string): Promise<string> =>
      (await ask({ query: '{ __typename }' }, accept)).type;
    expect(await typeBy(`${GRAPHQL}, application/json`)).toBe(GRAPHQL);
    expect(await typeBy(`application/json, ${GRAPHQL}`)).toBe('application/json');
    expect(await typeBy(`${GRAPHQL};q=0.5, application/json;q=0.9`)).toBe('application/json');
    expect(await typeBy(`${GRAPHQL}; charset=utf-8, application/json; charset=utf-8; q=0.9`)).toBe(GRAPHQL);
    const refused = await ask({ query: '{ __typename }' }, 'text/html');
    expect([refused.status, refused.type]).toEqual([406, 'application/problem+json']);
  });
});
