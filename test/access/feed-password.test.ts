import { OWNER, type Site, startSite } from './site.js';

// Spreadsheets can only send a name and a password (RFC 7617). A browser attaches such credentials to cross-site requests too, so they are
// accepted for reading the feed and nowhere else.

const FEED = '/v1/projects/P1/odata';

let site: Site;
let token: string;

const basic = (password: string): string => `Basic ${Buffer.from(`anybody:${password}`).toString('base64')}`;

beforeAll(async () => {
  site = await startSite();
  token = await site.token(OWNER);
  await site.project('P1');
});

afterAll(() => site.close());

it.each([FEED, `${FEED}/`, `${FEED}/$metadata`, `${FEED}/dim_project?$top=1`, `${FEED}/dim_project/$count`])(
  'is accepted at %s',
  async (address) => {
    const { status } = await site.http.get(address).set('Authorization', basic(token));
    expect(status).toBe(address.endsWith('/') ? 404 : 200);
  },
);

it.each([
  ['get', '/v1/projects/P1'],
  ['get', '/v1/projects/P1/odatas'],
  ['get', '/v1/projects/P1/drives/odata/progress'],
  ['get', '/v1/projects?x=/v1/projects/P1/odata'],
  ['put', '/v1/projects/P1'],
  ['put', FEED],
  ['post', '/graphql'],
  ['delete', `${FEED}/dim_project`],
] as const)('is not accepted elsewhere: %s %s', async (method, address) => {
  const answer = await site.http[method](address).set('Authorization', basic(token)).send();
  expect(answer.status).toBe(401);
  expect(answer.headers['www-authenticate']).toBe('Bearer realm="drivebook"');
});

it.each([
  '',
  'Basic',
  'Basic !',
  basic('wrong'),
  basic(''),
  `Basic ${Buffer.from('no colon').toString('base64')}`,
  `${basic('a'.repeat(9000))}`,
])('is requested where it is missing or wrong: %j', async (authorization) => {
  const request = site.http.get(FEED);
  const answer = await (authorization === '' ? request : request.set('Authorization', authorization));
  expect(answer.status).toBe(401);
  expect(answer.headers['www-authenticate']).toBe(
    'Bearer realm="drivebook", Basic realm="drivebook", charset="UTF-8"',
  );
});
