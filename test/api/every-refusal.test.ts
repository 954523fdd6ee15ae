import { readdirSync, readFileSync } from 'node:fs';
import { connect } from 'node:net';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import type { Response } from 'supertest';
import { openApiOf } from '../../src/common/api/openapi.js';
import { PROBLEMS, problemsText } from '../../src/common/api/problems.js';
import { packageRoot } from '../../src/common/package-root.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type Operation, operationsOf, send } from './operations.js';
import { oneIn } from '../harness/sizes.js';

// Requests refused before they reach a route get a problem document too (RFC 9457), with the headers required by RFC 9110.

let app: TestApp;
let operations: Operation[];

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  operations = operationsOf(app);
});

afterAll(() => app.close());

const PROBLEM = expect.stringContaining('application/problem+json') as string;

const summaryOf = ({ status, headers, body }: Response): unknown[] => [
  status,
  headers['content-type'],
  (body as { type?: string }).type,
];

const problem = (status: number, code: string): unknown[] => [status, PROBLEM, `/docs/problems#${code}`];

describe('an address', () => {
  it.each([
    ['a malformed escape', '/v1/projects/%zz', 400, 'malformed'],
    ['a page of the documentation that does not exist', '/docs/nope', 404, 'not_found'],
    ['one that would be above it', '/docs/%2e%2e/package.json', 404, 'not_found'],
    ['an escape that is not UTF-8', '/v1/projects/%ff', 400, 'malformed'],
    ['an overlong segment', `/v1/projects/${'x'.repeat(1100)}`, 414, 'uri_too_long'],
    ['no route', '/v2', 404, 'not_found'],
    ['a slash at the end', '/v1/projects/', 404, 'not_found'],
    ['two slashes', '/v1//projects', 404, 'not_found'],
  ])('with %s is answered by a problem', async (_, url, status, code) => {
    const answer = await app.http.get(url);
    expect(summaryOf(answer)).toEqual(problem(status, code));
    expect(answer.headers['x-request-id']).toMatch(/./);
  });

  it('that does not exist says where the routes are described, and suggests what may be meant', async () => {
    expect((await app.http.get('/v2?x=1')).body.detail).toBe(
      'There is no route /v2. The routes are described at /docs.',
    );
    expect((await app.http.get('/v1/projects/')).body.detail).toContain('Write /v1/projects, without');
  });
});

/** The methods allowed, by address. */
const methodsByAddress = (): Map<string, string[]> => {
  const methods = new Map<string, string[]>();
  for (const { address, method } of operations)
    methods.set(address, [...(methods.get(address) ?? []), method.toUpperCase()]);
  return methods;
};

describe('a method', () => {
  it('that an address does not allow is refused with those that it allows: 405, on every address', async () => {
    for (const [address, methods] of methodsByAddress()) {
      const answer = await app.http.patch(address).send({});
      expect([address, ...summaryOf(answer)]).toEqual([address, ...problem(405, 'method_not_allowed')]);
      const allowed = String(answer.headers['allow']).split(', ');
      // A name may equal that of an action: probe-holes/import.
      if (address.endsWith('/import')) expect(allowed).toEqual(expect.arrayContaining(methods));
      else expect(allowed.filter((each) => each !== 'HEAD')).toEqual([...methods].sort());
      if (methods.includes('GET')) expect(allowed).toContain('HEAD');
    }
  });

  it('OPTIONS names those that an address allows', async () => {
    const url = '/v1/projects/P1/drives/N/shifts/2027-03-01/day';
    const { status, headers } = await app.http.options(url);
    expect([status, headers['allow']]).toEqual([204, 'DELETE, GET, HEAD, PUT, OPTIONS']);
    expect(summaryOf(await app.http.options('/v2'))).toEqual(problem(404, 'not_found'));
    const preflight = await app.http
      .options(url)
      .set({ origin: 'https://elsewhere.example', 'access-control-request-method': 'PUT' });
    expect([preflight.status, preflight.headers['access-control-allow-origin']]).toEqual([204, undefined]);
  });

  it('that /graphql does not allow is refused with the only one that it allows, for every client', async () => {
    expect((await app.http.options('/graphql')).headers['allow']).toBe('POST, OPTIONS');
    const { status, headers } = await app.http.put('/graphql').send({});
    expect([status, headers['allow']]).toEqual([405, 'POST']);
  });

  it.each(['QUERY', 'PROPFIND', 'PATCH'])('%s is refused before its body is looked at', async (method) => {
    const sent: Record<string, string>[] = [
      {},
      { 'content-type': 'multipart/form-data' },
      { 'content-encoding': 'gzip' },
    ];
    for (const headers of sent) {
      const answer = await fetch(`${await app.app.getUrl()}/v1/projects`, { method, headers });
      expect([answer.status, answer.headers.get('allow')]).toEqual([405, 'GET, HEAD']);
    }
  });

  it('on a list beside named resources is not one on a resource of that name', async () => {
    const url = '/v1/projects/P1/drives/N/discontinuities/sets';
    for (const method of ['put', 'delete', 'patch'] as const) {
      const answer = await app.http[method](url).send({});
      expect([...summaryOf(answer), answer.headers['allow']]).toEqual([
        ...problem(405, 'method_not_allowed'),
        'GET, HEAD',
      ]);
    }
    expect((await app.http.options(url)).headers['allow']).toBe('GET, HEAD, OPTIONS');
  });

  it('HEAD answers as GET, without a body', async () => {
    const readings = operations.filter(
      ({ method, path: of_ }) => method === 'get' && !/\{drive\}\/./.test(of_),
    );
    expect(readings.length).toBeGreaterThan(20);
    for (const { address } of readings) {
      const [got, head] = [await app.http.get(address), await app.http.head(address)];
      expect([address, head.status, head.headers['content-type'], head.text]).toEqual([
        address,
        got.status,
        got.headers['content-type'],
        undefined,
      ]);
    }
    const moment = await app.http.head('/v1/projects/P1?asOf=2026-01-01T00:00:00Z');
    expect(moment.status).toBe(404); // like GET: the project did not exist yet
  });
});

describe('a content type', () => {
  it('that Accept does not include is not sent: 406, and no write is carried out', async () => {
    const before = await app.contents();
    for (const operation of oneIn(
      4,
      operations.filter(({ method }) => method !== 'delete'),
    )) {
      const answer = await send(app, operation, operation.address).set('accept', 'application/vnd.none');
      const isReading = operation.method === 'get';
      const [status] = summaryOf(answer);
      expect([operation.name, answer.headers['content-type']]).toEqual([operation.name, PROBLEM]);
      // A failed reading reports its failure, whatever Accept says.
      if (!isReading || Number(status) < 400) expect([operation.name, status]).toEqual([operation.name, 406]);
    }
    expect(summaryOf(await app.http.get('/v1/projects/P1').set('accept', 'text/csv'))).toEqual(
      problem(406, 'not_acceptable'),
    );
    expect(await app.contents()).toBe(before);
  });

  it.each([
    'application/json',
    'application/*',
    '*/*',
    'text/html, */*;q=0.1',
    'text/csv;q=1, application/json;q=0.5',
  ])('that Accept names is sent: %s', async (accept) => {
    expect((await app.http.get('/v1/projects').set('accept', accept)).status).toBe(200);
  });

  it('that Accept excludes by q=0 is not sent', async () => {
    expect((await app.http.get('/v1/projects/P1').set('accept', '*/*, application/json;q=0')).status).toBe(
      406,
    );
  });

  it('of a body that no route accepts is refused: 415', async () => {
    const taking = operations.filter(
      ({ method, requestBody }) => method !== 'get' && requestBody !== undefined,
    );
    expect(taking.length).toBeGreaterThan(35);
    for (const { name, method, address, requestBody } of taking) {
      const answer = await app.http[method](address).set('content-type', 'text/plain').send('x');
      expect([name, ...summaryOf(answer)]).toEqual([name, ...problem(415, 'unsupported_media_type')]);
      const takes = Object.keys((requestBody as { content: object }).content);
      const { detail } = answer.body as { detail: string };
      expect([name, takes.filter((type) => !detail.includes(type))]).toEqual([name, []]);
    }
  });

  it('of a form without a boundary is refused: 415, by every route that accepts one', async () => {
    const taking = operations.filter(
      ({ requestBody }) => requestBody?.content['multipart/form-data'] !== undefined,
    );
    expect(taking.length).toBeGreaterThan(4);
    for (const { name, method, address } of taking)
      for (const type of [
        'multipart/form-data',
        'multipart/form-data; boundary=',
        'multipart/form-data; charset=x',
      ]) {
        const answer = await app.http[method](address).set('content-type', type).send('x');
        expect([name, ...summaryOf(answer)]).toEqual([name, ...problem(415, 'unsupported_media_type')]);
        expect(answer.body.detail).toContain('boundary');
      }
  });

  it.each(['gzip', 'br', 'deflate', 'x-none'])(
    'with the encoding %s is refused: 415, naming what is accepted',
    async (encoding) => {
      const answer = await app.http.put('/v1/projects/P9').set('content-encoding', encoding).send({});
      expect(summaryOf(answer)).toEqual(problem(415, 'unsupported_media_type'));
      expect(answer.headers['accept-encoding']).toBe('identity');
    },
  );
});

describe('what is not a request of the API', () => {
  let port: number;

  beforeAll(() => {
    ({ port } = app.app.getHttpServer().address() as AddressInfo);
  });

  /** Everything the service answers to some bytes until it closes. */
  const said = (bytes: string): Promise<string> =>
    new Promise((resolve, reject) => {
      let text = '';
      const socket = connect(port, '127.0.0.1', () => socket.write(bytes));
      socket.setEncoding('utf8').on('data', (piece: string) => {
        text += piece;
        if (text.includes('\r\n\r\n{') && text.endsWith('}')) socket.end();
      });
      socket.on('close', () => resolve(text)).on('error', reject);
    });

  it.each([
    ['bytes that are not HTTP', 'NONSENSE\r\n\r\n', 400, 'malformed'],
    // RFC 9112, section 3.2
    ['a request without a host', 'GET /v1/health HTTP/1.1\r\n\r\n', 400, 'malformed'],
    ['another method', 'FOO /v1/health HTTP/1.1\r\nHost: x\r\n\r\n', 501, 'not_implemented'],
    ['a request to a proxy', 'CONNECT a:1 HTTP/1.1\r\nHost: a:1\r\n\r\n', 501, 'not_implemented'],
    ['a path above the documentation', 'GET /docs/../ HTTP/1.1\r\nHost: x\r\n\r\n', 404, 'not_found'],
    ['one with two', 'GET /v1/health HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n', 400, 'malformed'],
    [
      'headers without an end',
      `GET / HTTP/1.1\r\nX: ${'x'.repeat(20_000)}\r\n\r\n`,
      431,
      'headers_too_large',
    ],
  ])('%s is answered by a problem', async (_, bytes, status, code) => {
    const text = await said(bytes);
    expect(text).toMatch(new RegExp(`^HTTP/1.1 ${status} [A-Z]`));
    expect(text.toLowerCase()).toContain('content-type: application/problem+json');
    expect(text).toContain(`"type":"/docs/problems#${code}"`);
  });

  it('is a WebSocket at another address than /graphql: it is refused', async () => {
    for (const url of ['/v1/projects', '/v2', '/docs']) {
      const text = await said(
        `GET ${url} HTTP/1.1\r\nHost: x\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n`,
      );
      expect(text).toMatch(/^HTTP\/1.1 400 /);
      expect(text).toContain('"detail":"WebSockets are served at /graphql only."');
    }
  });
});

describe('a problem', () => {
  it('has an address at which it is explained, in the service and in docs', async () => {
    const { status, headers, text } = await app.http.get('/docs/problems');
    expect([status, headers['content-type']]).toEqual([200, 'text/html; charset=utf-8']);
    const document = readFileSync(path.join(packageRoot, 'docs', 'problems.md'), 'utf8');
    for (const [code, { title, status: of_ }] of Object.entries(PROBLEMS)) {
      expect(text).toContain(`<section id="${code}"><h2>${code}</h2><p><b>${of_}: `);
      expect(document).toContain(`\n## ${code}\n\n**${of_}: ${title}.** `);
    }
    expect(document).toBe(problemsText());
  });

  it('each type that the service can send is explained, and each that is explained can be sent', () => {
    const { components } = openApiOf(app.app);
    const declared = Object.values(components?.schemas ?? {}).flatMap((schema) => {
      const { type } = ('properties' in schema ? (schema.properties ?? {}) : {}) as {
        type?: { enum?: string[] };
      };
      return (type?.enum ?? []).filter((each) => each.startsWith('/docs/problems#'));
    });
    const explained = Object.keys(PROBLEMS).map((code) => `/docs/problems#${code}`);
    // methods that are not described are left out of the document
    const ofOthers = ['/docs/problems#method_not_allowed'];
    expect([...new Set(declared), ...ofOthers].sort()).toEqual(explained.sort());
    const titles = Object.values(PROBLEMS).map(({ title }) => title);
    expect([...new Set(titles)]).toEqual(titles);
    const files = readdirSync(path.join(packageRoot, 'src'), { recursive: true, encoding: 'utf8' });
    const source = files
      .filter((name) => /\.tsx?$/.test(name) && !/generated|api\/problems\.ts$/.test(name))
      .map((name) => readFileSync(path.join(packageRoot, 'src', name), 'utf8'))
      .join('\n');
    expect(Object.keys(PROBLEMS).filter((code) => !source.includes(`'${code}'`))).toEqual([]);
  });
});
