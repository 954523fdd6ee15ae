import pg from 'pg';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp({
    DATABASE_LOCK_TIMEOUT_MS: '200',
    CORS_ORIGINS: 'https://office.example',
  });
  await aProject(app);
});

afterAll(() => app.close());

describe('an answer', () => {
  it.each([
    ['of a route', '/v1/projects', 200],
    ['of a failure', '/v1/projects/NOPE', 404],
    ['of no route', '/v2', 404],
  ])('%s carries the request id: the caller’s, or a new one', async (_, url, status) => {
    const named = await app.http.get(url).set('x-request-id', 'shift-7.retry_2');
    expect([named.status, named.headers['x-request-id']]).toEqual([status, 'shift-7.retry_2']);
    const [first, second] = [await app.http.get(url), await app.http.get(url)];
    expect(first.headers['x-request-id']).toMatch(/^[0-9a-f-]{36}$/);
    expect(second.headers['x-request-id']).not.toBe(first.headers['x-request-id']);
  });

  it.each(['a b', 'x'.repeat(65), '{"level":50}'])(
    'does not carry an id unsuitable for the log: %s',
    async (id) => {
      const { headers } = await app.http.get('/v1/projects').set('x-request-id', id);
      expect(headers['x-request-id']).toMatch(/^[0-9a-f-]{36}$/);
    },
  );

  it('protects the pages that show it', async () => {
    const { headers } = await app.http.get('/docs');
    expect(headers).toMatchObject({ 'x-content-type-options': 'nosniff', 'x-frame-options': 'SAMEORIGIN' });
    expect(headers['content-security-policy']).toContain("default-src 'self'");
    expect(headers['content-security-policy']).not.toContain('upgrade-insecure-requests');
  });

  it('may be read by pages of the configured origins, and by no others', async () => {
    const allowed = await app.http.get('/v1/projects').set('origin', 'https://office.example');
    expect(allowed.headers['access-control-allow-origin']).toBe('https://office.example');
    const asked = await app.http.options('/v1/projects/P1/drives/N/shifts/2027-03-01/day').set({
      origin: 'https://office.example',
      'access-control-request-method': 'PUT',
      'access-control-request-headers': 'if-match',
    });
    expect(asked.headers).toMatchObject({
      'access-control-allow-headers': 'if-match',
      'access-control-allow-methods': expect.stringContaining('PUT'),
    });
    const other = await app.http.get('/v1/projects').set('origin', 'https://elsewhere.example');
    expect(other.headers['access-control-allow-origin']).toBeUndefined();
  });
});

describe('a drive that another transaction has locked', () => {
  it('is waited for only so long: then 503, nothing written, and Retry-After', async () => {
    const holder = new pg.Client({ connectionString: app.url });
    await holder.connect();
    await holder.query('begin');
    await holder.query('select from drive for update');
    const before = await app.contents();
    const shift = aShift().withStroke(1, '1+200', '1+201.7', '06:00', '06:40').build();
    const refused = await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift);
    expect([refused.status, refused.headers['retry-after'], refused.body.detail]).toEqual([
      503,
      '5',
      'The database cannot answer now; nothing was written. Try again.',
    ]);
    const query = `mutation ($d: ShiftDocumentInput!) { putShift(project: "P1", drive: "N", date: "2027-03-01", shift: "day", document: $d) { outcome } }`;
    const graph = await app.http.post('/graphql').send({ query, variables: { d: shift } });
    expect([graph.status, graph.headers['retry-after'], graph.body.errors[0].extensions.status]).toEqual([
      503,
      '5',
      503,
    ]);
    expect(await app.contents()).toBe(before);
    await holder.query('rollback');
    await holder.end();
    expect((await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift)).status).toBe(
      201,
    );
  });
});

describe('GraphQL', () => {
  it.each([
    'query=%7Bprojects%7Bcode%7D%7D',
    'query=query%20A%7Bprojects%7Bcode%7D%7Dquery%20B%7Bprojects%7Bname%7D%7D',
    '',
  ])('does not answer GET (%s)', async (search) => {
    const { status, headers, body } = await app.http.get(`/graphql?${search}`);
    expect([status, headers['allow'], body.detail]).toEqual([
      405,
      'POST, OPTIONS',
      'GraphQL operations are sent by POST.',
    ]);
  });
});
