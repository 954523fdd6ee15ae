import { loadConfig } from '../../src/common/config/config.js';
import { openApiOf } from '../../src/common/api/openapi.js';
import { AccessTokens } from '../../src/common/auth/access-tokens.js';
import { aShift } from '../builders/shift.js';
import { newKey, serve, startIssuer } from '../harness/issuer.js';
import { type Caller, OWNER, type Site, startSite } from './site.js';

// OWASP API Security Top 10, 2023: one negative test per item. More are beside the features they test.

let site: Site;
let owner: Caller;
let anna: Caller;
let vera: Caller;

beforeAll(async () => {
  site = await startSite({
    RATE_LIMIT_PER_MINUTE: '400',
    AUTH_FAILURES_PER_MINUTE: '5',
    CORS_ORIGINS: 'https://office.example',
  });
  owner = await site.as(OWNER);
  for (const project of ['MINE', 'THEIRS']) {
    await site.project(project);
    const put = async (path: string, body: object): Promise<void> => {
      expect((await owner.put(`/v1/projects/${project}${path}`, body)).status).toBeLessThan(300);
    };
    const weekdays = [1, 2, 3, 4, 5, 6, 7];
    await put('/calendar-shifts/day', { startTime: '06:00', endTime: '18:00', weekdays });
    await put('/activity-codes/MAINT', { description: 'Maintenance', countsAs: 'planned_stop' });
    await put('/drives/N', {
      name: 'Trial',
      startChainage: '1+200',
      endChainage: '2+200',
      direction: 1,
      boredDiameterM: '7',
    });
  }
  await put('anna', ['engineer']);
  await put('vera', ['viewer']);
  [anna, vera] = [await site.as('anna'), await site.as('vera')];
  expect((await vera.get('/v1/projects')).status).toBe(200); // authenticated: failures of others do not lock her out
  expect(
    (await anna.put(SHIFT, aShift().withActivity('MAINT', '06:00', '18:00').submitted().build())).status,
  ).toBe(201);
});

afterAll(() => site.close());

const SHIFT = '/v1/projects/MINE/drives/N/shifts/2027-03-01/day';

const put = async (subject: string, roles: string[]): Promise<void> => {
  expect((await owner.put(`/v1/projects/MINE/members/${subject}`, { roles })).status).toBeLessThan(300);
};

it('API1 object level authorization: objects of another project are not found', async () => {
  const theirs = SHIFT.replace('MINE', 'THEIRS');
  for (const answer of [
    await anna.get(theirs),
    await anna.delete(theirs),
    await anna.get(`${theirs}/versions`),
  ])
    expect([answer.status, answer.body.detail]).toEqual([404, 'There is no project THEIRS.']);
});

it('API2 authentication: refused credentials reveal nothing and are limited', async () => {
  const statuses: number[] = [];
  for (let attempt = 0; attempt < 7; attempt += 1)
    statuses.push((await site.bearing(`dbk_aaaaaaaaaa_${'A'.repeat(43)}`).get(SHIFT)).status);
  expect(statuses).toEqual([401, 401, 401, 401, 401, 429, 429]);
});

it('API3 property level authorization: what the service decides cannot be sent', async () => {
  const document = aShift().withActivity('MAINT', '06:00', '18:00').build();
  for (const [field, value] of Object.entries({
    postedBy: ['vera'],
    countersignedBy: 'vera',
    projectId: 2,
  })) {
    const { status, body } = await anna.put(SHIFT, { ...document, [field]: value });
    expect([status, body.errors[0].pointer]).toEqual([422, `/${field}`]);
  }
});

it('API4 resource consumption: pages, bodies and queries are limited', async () => {
  expect((await anna.get('/v1/projects/MINE/drives/N/strokes?first=1001')).status).toBe(422);
  expect((await anna.put(SHIFT, { remark: 'x'.repeat(2_000_000) })).status).toBe(413);
  const aliases = Array.from({ length: 31 }, (_, n) => `a${n}: name`).join(' ');
  const { body } = await anna.graphql(`{ project(project: "MINE") { ${aliases} } }`);
  expect(body.errors[0].extensions.status).toBe(422);
});

it('API5 function level authorization: another method or spelling opens nothing', async () => {
  const attempts = [
    await vera.put('/v1/projects/MINE/members/vera', { roles: ['administrator'] }),
    await vera.post(`${SHIFT}/countersign`, {}),
    await vera.get(SHIFT).set('X-HTTP-Method-Override', 'DELETE'),
    await vera.put('/v1//projects/MINE', {}),
    await vera.put('/V1/projects/MINE', {}),
    await vera.graphql(
      'mutation { putMember(project: "MINE", subject: "vera", input: { roles: [administrator] }) { subject } }',
    ),
  ];
  expect(attempts.map(({ status, body }) => body.errors?.[0]?.extensions?.status ?? status)).toEqual([
    403, 403, 200, 404, 404, 403,
  ]);
  expect((await anna.get(SHIFT)).status).toBe(200);
});

it('API6 business flows: the poster does not sign, and a machine never does', async () => {
  const { headers } = await anna.get(SHIFT);
  const signed = await anna.post(`${SHIFT}/countersign`, {}).set('If-Match', headers['etag'] ?? '');
  expect([signed.status, signed.body.detail]).toEqual([
    403,
    'shift 2027-03-01 day was posted by anna: another person must countersign it',
  ]);
  const key = await owner.post('/v1/projects/MINE/api-keys', {
    name: 'robot',
    scopes: ['shift.countersign'],
  });
  expect(key.status).toBe(422);
});

it('API7 request forgery: an address in a token is not requested', async () => {
  let asked = 0;
  const trap = await serve((_request, response) => {
    asked += 1;
    response.end('{"keys": []}');
  });
  try {
    const { privateKey } = await newKey();
    const issuer = await startIssuer();
    try {
      const tokens = new AccessTokens({
        issuer: issuer.issuer,
        audience: issuer.audience,
        algorithms: ['RS256', 'ES256'],
      });
      const jku = `${trap.address}/keys`;
      const token = await issuer.token({ subject: 'anna', header: { jku, x5u: jku }, signedBy: privateKey });
      await expect(tokens.verify(token)).rejects.toMatchObject({ code: 'unauthenticated' });
      expect(asked).toBe(0);
    } finally {
      await issuer.close();
    }
  } finally {
    await trap.close();
  }
});

it('API8 configuration: nothing is open by default, nothing internal is revealed', async () => {
  expect(() => loadConfig({ HOST: '0.0.0.0' })).toThrow('AUTH=required');
  expect(() => loadConfig({ OIDC_ALGORITHMS: 'HS256' })).toThrow('OIDC_ALGORITHMS');
  const { headers, text } = await anna
    .get('/v1/projects/MINE/drives/N/strokes?after=99999999999999')
    .set('Origin', 'https://evil.example');
  expect(headers).toMatchObject({
    'x-content-type-options': 'nosniff',
    'content-security-policy': expect.any(String),
  });
  expect(headers['access-control-allow-origin']).not.toBe('https://evil.example');
  expect(text).not.toMatch(/select |node_modules|\.ts:|\.js:/i);
});

it('API9 inventory: there is no route that is not described', async () => {
  const { paths } = openApiOf(site.app);
  const described = Object.keys(paths).map((path) => path.replace(/\{(\w+)\}/g, ':$1'));
  const tree = site.app.getHttpAdapter().getInstance().printRoutes({ commonPrefix: false });
  // each line continues the address above it, one level per four characters
  const above: string[] = [];
  const served = tree.split('\n').flatMap((line) => {
    const [, indent = '', part = '', methods] = /^([│├└─ ]*)(\S+)(?: \(([A-Z, ]+)\))?/.exec(line) ?? [];
    if (part === '') return [];
    const depth = indent.length / 4 - 1;
    above.splice(depth, Infinity, part);
    return methods === undefined ? [] : [above.join('')];
  });
  // pages for people, their files, and routes with a description of their own
  const others =
    /^\/(graphql|v1\/openapi\.json|docs[/-].*|docs|assets\/:file|sign-in(\/(issuer|callback))?|sign-out|projects\/:project\/drives\/:drive|)$/;
  const routes = served.filter((path) => path !== '*' && !others.test(path));
  expect(routes.length).toBeGreaterThan(150);
  expect(routes.filter((path) => !described.includes(path))).toEqual([]);
  expect((await anna.get('/v0/projects')).status).toBe(404);
});

it('API10 consumption of APIs: an issuer that names itself otherwise authenticates nobody', async () => {
  const issuer = await startIssuer();
  const impostor = await serve((_request, response) => {
    response.setHeader('content-type', 'application/json');
    response.end(JSON.stringify({ issuer: 'https://another.example', jwks_uri: `${issuer.issuer}/jwks` }));
  });
  try {
    const tokens = new AccessTokens({
      issuer: impostor.address,
      audience: issuer.audience,
      algorithms: ['RS256'],
    });
    const token = await issuer.token({ subject: 'anna', claims: { iss: impostor.address } });
    await expect(tokens.verify(token)).rejects.toMatchObject({ code: 'unavailable' });
  } finally {
    await impostor.close();
    await issuer.close();
  }
});
