import supertest from 'supertest';
import { untilAnswered } from '../../access/site.js';
import { aProject } from '../../builders/project.js';
import { type Office, startOffice } from '../../harness/office.js';
import { findings, read, textOf } from './looked-at.js';

const BROWSER = { accept: 'text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8' };
const PAGE = '/projects/P1/drives/N';

let office: Office;
let key: string;

beforeAll(async () => {
  office = await startOffice('owner', ['vera', 'olga'], {
    TRUST_PROXY: '127.0.0.1',
    AUTH_FAILURES_PER_MINUTE: '10',
    API_KEY_PEPPER: 'x'.repeat(40),
  });
  await aProject(office.as('owner'), { project: 'P1' });
  await aProject(office.as('owner'), { project: 'P2' });
  await office.employ('P1', { vera: 'viewer' });
  const made = await office
    .as('owner')
    .http.post('/v1/projects/P1/api-keys')
    .send({
      name: 'board',
      scopes: ['record.read'],
      expiresAt: new Date(Date.now() + 86_400_000).toISOString(),
    });
  key = made.body.key as string;
});

afterAll(() => office.close());

/** Keeps no cookies: each request names its own. */
const browser = () => supertest(office.app.getHttpServer());

const signIn = (credential: string, more: Record<string, string> = {}) =>
  office.http
    .post('/sign-in')
    .set({ ...BROWSER, ...more })
    .field({ credential, next: PAGE });

const tokenOf = (who: string): string => office.headersOf(who).Authorization.replace('Bearer ', '');

/** The cookie as sent back by a browser. */
const cookieOf = (answer: { headers: Record<string, unknown> }): string => {
  const [cookie = ''] = (answer.headers['set-cookie'] as string[] | undefined) ?? [];
  return cookie.split(';')[0] ?? '';
};

const signedIn = async (credential: string): Promise<string> => {
  const answer = await signIn(credential);
  expect([answer.status, answer.headers['location']]).toEqual([303, PAGE]);
  return cookieOf(answer);
};

const open = (path: string, cookie: string) =>
  browser()
    .get(path)
    .set({ ...BROWSER, cookie });

describe('a person who has not signed in', () => {
  it.each(['/', PAGE, '/projects/NONE/drives/N', '/nowhere'])(
    'sees a form at %s, and nothing else',
    async (path) => {
      const answer = await browser().get(path).set(BROWSER);
      expect([answer.status, answer.headers['content-type']]).toEqual([401, 'text/html; charset=utf-8']);
      const page = read(answer.text);
      expect(textOf(page.querySelector('h1'))).toBe('Sign in');
      expect(page.querySelector<HTMLInputElement>('input[name=next]')?.value).toBe(path);
      expect(answer.text.replaceAll(path, '')).not.toMatch(/P1|Trial|\d\+\d{3}/);
      expect(answer.headers['set-cookie']).toBeUndefined();
    },
  );

  it('finds a form without a fault found by axe-core', async () => {
    expect(await findings((await browser().get('/sign-in').set(BROWSER)).text)).toEqual([]);
    expect(await findings((await signIn('wrong').set(BROWSER)).text)).toEqual([]);
  });

  it('is redirected to the drives from an address without a form, and sees no control in a page', async () => {
    const long = read(
      (
        await browser()
          .get(`${PAGE}?${'x'.repeat(2100)}=1`)
          .set(BROWSER)
      ).text,
    );
    expect(long.querySelector<HTMLInputElement>('input[name=next]')?.value).toBe('/');
    const absent = await browser().get('/assets/a%00%1bb.css').set(BROWSER);
    expect([absent.status, textOf(read(absent.text).querySelector('main p'))]).toEqual([
      404,
      'There is no file a\uFFFD\uFFFDb.css.',
    ]);
    expect(absent.text).not.toMatch(/[\0\x1b]/);
  });

  it.each([
    '//evil.example',
    '/\\evil.example',
    'https://evil.example',
    'javascript:alert(1)',
    '/€', // not possible in a header
  ])('is not redirected to %s', async (next) => {
    const answer = await browser().post('/sign-in').field({ credential: key, next });
    expect([answer.status, answer.body.errors[0].pointer]).toEqual([422, '/next']);
    expect(answer.headers['set-cookie']).toBeUndefined();
    expect((await browser().get('/sign-in').query({ next })).status).toBe(422);
    expect((await browser().post('/sign-out').field({ next })).status).toBe(422);
  });
});

describe('a browser that has signed in', () => {
  it('has a cookie that no script can read, no other site can send, and that does not show the credential', async () => {
    const plain = await signIn(key);
    const [cookie = ''] = plain.headers['set-cookie'] as unknown as string[];
    expect(cookie).toMatch(/^drivebook_session=[\w-]+; Path=\/; Max-Age=43200; HttpOnly; SameSite=Strict$/);
    const bytes = Buffer.from(cookieOf(plain).split('=')[1] ?? '', 'base64url').toString('latin1');
    expect(bytes).not.toContain(key.slice(0, 14));
    const secure = await signIn(key, { 'x-forwarded-proto': 'https' });
    expect(secure.headers['set-cookie']).toEqual([
      expect.stringMatching(
        /^__Host-drivebook=[\w-]+; Path=\/; Max-Age=43200; HttpOnly; SameSite=Strict; Secure$/,
      ),
    ]);
    // over plain HTTP, where anyone on the way may have set it
    expect((await open(PAGE, cookieOf(secure))).status).toBe(401);
    expect((await open(PAGE, cookieOf(plain)).set({ 'x-forwarded-proto': 'https' })).status).toBe(401);
    expect((await open(PAGE, cookieOf(secure)).set({ 'x-forwarded-proto': 'https' })).status).toBe(200);
  });

  it('reads what its key or its person may read, and nothing of another project', async () => {
    for (const [credential, name] of [
      [key, 'key:board'],
      [tokenOf('vera'), 'vera'],
    ] as const) {
      const cookie = await signedIn(credential);
      const page = await open(PAGE, cookie);
      expect([page.status, textOf(read(page.text).querySelector('.reader'))]).toEqual([
        200,
        `${name} Sign out`,
      ]);
      expect((await open('/', cookie)).headers['location']).toBe(PAGE); // the only drive that they can read
      const other = await open('/projects/P2/drives/N', cookie);
      expect([other.status, textOf(read(other.text).querySelector('main p'))]).toEqual([
        404,
        (await open('/projects/NONE/drives/N', cookie)).text
          .match(/There is no project NONE[^<]*|[^<>]*NONE[^<]*/)?.[0]
          .replace('NONE', 'P2'),
      ]);
      for (const path of [
        '/v1/projects/P1/drives/N/progress',
        '/v1/projects/P1/drives/N/diagrams/advance.svg',
      ])
        expect([path, (await open(path, cookie)).status]).toEqual([path, 200]);
      expect((await open('/v1/projects/P2/drives/N/progress', cookie)).status).toBe(404);
    }
  });

  it('shows a person without a role that there is nothing', async () => {
    const cookie = cookieOf(await signIn(tokenOf('olga')));
    const page = await open('/', cookie);
    expect([page.status, textOf(read(page.text).querySelector('main'))]).toEqual([
      200,
      'Drives There are no drives that you may read. Ask an administrator of the project for a role.',
    ]);
    expect((await open(PAGE, cookie)).status).toBe(404);
  });

  it('follows by poll where its person may not read the history', async () => {
    const main = (text: string) => read(text).querySelector('main')!.dataset;
    const viewer = main((await open(PAGE, await signedIn(tokenOf('vera')))).text);
    expect({ ...viewer }).toEqual({ poll: '/v1/projects/P1/drives/N/progress' });
    const owner = main((await open(PAGE, await signedIn(tokenOf('owner')))).text);
    expect({ ...owner }).toEqual({ changes: '/v1/projects/P1/changes?drive=N' });
  });

  it('writes nothing, and opens no connection', async () => {
    const cookie = await signedIn(tokenOf('owner'));
    const before = await office.contents();
    const body = { name: 'Taken', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };
    expect((await browser().put('/v1/projects/P1').set({ cookie }).send(body)).status).toBe(401);
    expect((await browser().delete('/v1/projects/P1/drives/N').set({ cookie })).status).toBe(401);
    expect(
      (await browser().post('/graphql').set({ cookie }).send({ query: '{ projects { code } }' })).status,
    ).toBe(401);
    expect(await office.contents()).toBe(before);
  });

  it('is signed out everywhere, even where its cookie was copied', async () => {
    const cookie = await signedIn(key);
    const out = await browser()
      .post('/sign-out')
      .set({ ...BROWSER, cookie })
      .field({ next: '/sign-in' });
    expect([out.status, out.headers['location']]).toEqual([303, '/sign-in']);
    expect(out.headers['set-cookie']).toEqual([
      'drivebook_session=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict',
    ]);
    expect((await open(PAGE, cookie)).status).toBe(401);
  });

  it('is signed out after 12 hours, and when its key ends', async () => {
    const cookie = await signedIn(tokenOf('vera'));
    const { now } = Date;
    Date.now = () => now() + 12 * 3_600_000 + 1000;
    try {
      expect((await open(PAGE, cookie)).status).toBe(401);
    } finally {
      Date.now = now;
    }
    expect((await open(PAGE, cookie)).status).toBe(200);
    const made = await office
      .as('owner')
      .http.post('/v1/projects/P1/api-keys')
      .send({
        name: 'short',
        scopes: ['record.read'],
        expiresAt: new Date(Date.now() + 86_400_000).toISOString(),
      });
    const short = cookieOf(await signIn(made.body.key as string)); // used once, and then revoked
    await office.sql(`update api_key set revoked_at = now(), revoked_by = 'owner' where name = 'short'`);
    expect((await untilAnswered(() => open(PAGE, short), 401)).status).toBe(401);
  });

  it('is refused when its cookie was changed, cut or made by another service', async () => {
    const [name = '', value = ''] = (await signedIn(key)).split('=');
    const bytes = Buffer.from(value, 'base64url');
    for (const place of [0, 12, 28, bytes.length - 1]) {
      const changed = Buffer.from(bytes);
      changed[place] = (changed[place] ?? 0) ^ 1;
      expect([place, (await open(PAGE, `${name}=${changed.toString('base64url')}`)).status]).toEqual([
        place,
        401,
      ]);
    }
    for (const other of ['', 'x', value.slice(0, 20), value.slice(0, -4), 'a'.repeat(3000)])
      expect([other, (await open(PAGE, `${name}=${other}`)).status]).toEqual([other, 401]);
  });
});

describe('the sign-in form', () => {
  it('says what was wrong, and sets no cookie', async () => {
    for (const [credential, status, reason] of [
      [
        `dbk_${'a'.repeat(10)}_${'b'.repeat(43)}`,
        401,
        'The API key is not known, has expired or was revoked.',
      ],
      ['<script>alert(1)</script>', 422, 'credential must be an API key or an access token, without spaces'],
      [`${tokenOf('vera')}x`, 401, 'The access token has an invalid signature.'],
    ] as const) {
      const answer = await signIn(credential);
      const page = read(answer.text);
      expect([answer.status, textOf(page.querySelector('[role=alert]'))]).toEqual([status, reason]);
      expect(answer.headers['set-cookie']).toBeUndefined();
      expect(answer.text).not.toContain(credential);
    }
  });

  it('is not accepted from a page of another site, nor is signing out', async () => {
    for (const [path, form] of [
      ['/sign-in', { credential: key }],
      ['/sign-out', { next: '/' }],
    ] as const) {
      const answer = await office.http
        .post(path)
        .set({ ...BROWSER, origin: 'https://evil.example' })
        .field(form);
      expect([path, answer.status, answer.headers['set-cookie']]).toEqual([path, 403, undefined]);
    }
  });

  it('makes browsers send its origin, and is accepted from this one', async () => {
    // Fetch, "append a request Origin header": with no-referrer, which other pages send, the origin of a form is null
    expect((await browser().get('/sign-in')).headers['referrer-policy']).toBe('same-origin');
    expect((await signIn(key, { host: 'board.example', origin: 'http://board.example' })).status).toBe(303);
    expect((await signIn(key, { origin: 'null' })).status).toBe(403);
  });

  it('accepts no other form, no file and no further field', async () => {
    expect((await browser().post('/sign-in').type('form').send({ credential: key })).status).toBe(415);
    expect((await browser().post('/sign-in').send({ credential: key })).status).toBe(415);
    const more = await browser().post('/sign-in').field({ credential: key, role: 'owner' });
    expect(more.status).toBe(422);
  });

  it('limits wrong keys as everywhere else', async () => {
    const statuses: number[] = [];
    for (let time = 0; time < 12; time += 1) {
      const credential = `dbk_${'a'.repeat(9)}${'bcdefghijklm'[time]}_${'b'.repeat(43)}`;
      statuses.push((await browser().post('/sign-in').set(BROWSER).field({ credential })).status);
    }
    expect([statuses[0], ...statuses.slice(-2)]).toEqual([401, 429, 429]); // 10 per minute
  });
});
