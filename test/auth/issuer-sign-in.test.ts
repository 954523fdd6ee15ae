import supertest from 'supertest';
import { appOf, startService, type TestApp } from '../harness/app.js';
import { type BrowserIssuer, startBrowserIssuer } from '../harness/browser-issuer.js';
import { findings, read, textOf } from '../outputs/page/looked-at.js';

// Browser sign-in at the issuer, against a certified implementation of OpenID Connect. Expected by OpenID Connect Core 1.0, section 3.1,
// RFC 6749, section 4.1, RFC 7636, RFC 9207 and RFC 9700, section 2.1.

const PUBLIC = 'http://127.0.0.1:4999'; // nothing listens here: the test plays the browser
const BROWSER = { accept: 'text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8' };
const PAGE = '/projects/P1/drives/N';

let issuer: BrowserIssuer;
let service: Awaited<ReturnType<typeof startService>>;
let app: TestApp;

beforeAll(async () => {
  issuer = await startBrowserIssuer(`${PUBLIC}/sign-in/callback`);
  service = await startService({
    ...{ AUTH: 'required', HOST: '127.0.0.1', API_KEY_PEPPER: 'x'.repeat(40), AUTH_FAILURES_PER_MINUTE: '0' },
    ...{ OIDC_ISSUER: issuer.issuer, OIDC_AUDIENCE: issuer.audience, OIDC_CLIENT_ID: 'drivebook' },
    ...{ OIDC_SCOPE: 'openid record', PUBLIC_URL: PUBLIC },
  });
  app = appOf(service);
  await app.sql(`insert into administrator (subject) values ('olga')`);
});

afterAll(async () => {
  await service.close();
  await issuer.close();
});

const get = (path: string, cookie = '') =>
  supertest(app.app.getHttpServer())
    .get(path)
    .set({ ...BROWSER, cookie });

/** The cookies set by an answer, in the form in which a browser sends them back. */
const cookiesOf = ({ headers }: { headers: Record<string, unknown> }): Record<string, string> =>
  Object.fromEntries(
    ((headers['set-cookie'] as string[] | undefined) ?? []).map((line) => {
      const [pair = ''] = line.split(';');
      return [pair.split('=')[0] ?? '', pair];
    }),
  );

interface Begun {
  /** Where the issuer has redirected the browser. */
  back: URL;
  way: string;
}

const begun = async (person = 'vera', next = PAGE): Promise<Begun> => {
  issuer.person = person;
  const sent = await get(`/sign-in/issuer?next=${encodeURIComponent(next)}`);
  expect([sent.status, sent.text]).toEqual([303, '']);
  return {
    back: await issuer.visit(String(sent.headers['location'])),
    way: cookiesOf(sent)['drivebook_way'] ?? '',
  };
};

const complete = ({ back, way }: Begun) => get(back.pathname + back.search, way);

const signedIn = async (person?: string, next?: string) => {
  const answer = await complete(await begun(person, next));
  return { answer, session: cookiesOf(answer)['drivebook_session'] ?? '' };
};

const refusal = (answer: { text: string }): string =>
  textOf(read(answer.text).querySelector('[role=alert]')!) ?? '';

it('is offered on the form, in which axe-core finds no fault', async () => {
  const answer = await get(PAGE);
  const link = read(answer.text).querySelector<HTMLAnchorElement>('a.button');
  expect([answer.status, link?.getAttribute('href')]).toEqual([
    401,
    `/sign-in/issuer?next=${encodeURIComponent(PAGE)}`,
  ]);
  expect(await findings(answer.text)).toEqual([]);
});

it('sends the browser to the issuer with challenge, state and nonce, whose secrets stay sealed', async () => {
  const sent = await get('/sign-in/issuer');
  const to = new URL(String(sent.headers['location']));
  expect(to.origin + to.pathname).toBe(`${issuer.issuer}/auth`);
  expect(Object.fromEntries(to.searchParams)).toEqual({
    client_id: 'drivebook',
    response_type: 'code',
    redirect_uri: `${PUBLIC}/sign-in/callback`,
    scope: 'openid record',
    resource: issuer.audience,
    code_challenge: expect.stringMatching(/^[\w-]{43}$/) as string,
    code_challenge_method: 'S256',
    state: expect.stringMatching(/^[\w-]{43}$/) as string,
    nonce: expect.stringMatching(/^[\w-]{43}$/) as string,
  });
  const [cookie = ''] = sent.headers['set-cookie'] as unknown as string[];
  expect(cookie).toMatch(/^drivebook_way=[\w-]+; Path=\/; Max-Age=600; HttpOnly; SameSite=Lax$/);
  const bytes = Buffer.from(cookie.split(/[=;]/)[1] ?? '', 'base64url').toString('latin1');
  expect(bytes).not.toContain(to.searchParams.get('state'));
});

it('signs the person in with the same session as a credential, and continues where it was going', async () => {
  const { answer, session } = await signedIn('olga', '/?first=1');
  expect([answer.status, answer.headers['cache-control']]).toEqual([200, 'private, no-store']);
  const refresh = read(answer.text).querySelector('meta[http-equiv=refresh]');
  expect(refresh?.getAttribute('content')).toBe('0; url=/?first=1');
  expect(await findings(answer.text)).toEqual([]);
  const lines = answer.headers['set-cookie'] as unknown as string[];
  expect(lines).toEqual([
    'drivebook_way=; Path=/; Max-Age=0; HttpOnly; SameSite=Lax',
    expect.stringMatching(/^drivebook_session=[\w-]+; Path=\/; Max-Age=43200; HttpOnly; SameSite=Strict$/),
  ]);
  // no token in sight; the encrypted session may have these letters, but no dot after them
  expect(answer.text + lines.join()).not.toMatch(/eyJ[\w-]+\./);
  const page = await get('/', session);
  expect([page.status, textOf(read(page.text).querySelector('.reader'))]).toEqual([200, 'olga Sign out']);
  const out = await supertest(app.app.getHttpServer())
    .post('/sign-out')
    .set({ ...BROWSER, cookie: session })
    .field({ next: '/sign-in' });
  expect([out.status, (await get('/', session)).status]).toEqual([303, 401]);
});

it('gives nobody a right: a person without a role sees no drive', async () => {
  const { session } = await signedIn('nobody');
  const page = await get('/', session);
  expect([page.status, textOf(read(page.text).querySelector('main'))]).toEqual([
    200,
    'Drives There are no drives that you may read. Ask an administrator of the project for a role.',
  ]);
});

describe('an answer of the issuer', () => {
  const WAY = 'Signing in took too long, or was begun in another browser. Sign in again.';
  const UNSURE = 'The answer of the issuer cannot be verified. Sign in again.';

  const changed = (name: string, value: string) => async (): Promise<Begun> => {
    const { back, way } = await begun();
    back.searchParams.set(name, value);
    return { back, way };
  };

  it.each<[string, () => Promise<Begun>, string]>([
    ['without the cookie of its way', async () => ({ ...(await begun()), way: '' }), WAY],
    [
      'in another browser, with its own cookie',
      async () => ({ back: (await begun()).back, way: (await begun('mallory')).way }),
      UNSURE,
    ],
    ['with another state', changed('state', 'x'.repeat(43)), UNSURE],
    ['of another issuer', changed('iss', 'https://evil.example'), UNSURE],
    [
      'with another code',
      changed('code', 'x'.repeat(43)),
      'The issuer did not accept its own answer: it may have expired. Sign in again.',
    ],
    [
      'with a changed cookie',
      async () => {
        const { back, way } = await begun();
        return { back, way: way.slice(0, -2) + (way.endsWith('AA') ? 'BB' : 'AA') };
      },
      WAY,
    ],
  ])('%s signs nobody in', async (_, make, reason) => {
    const answer = await complete(await make());
    expect([answer.status, refusal(answer)]).toEqual([401, reason]);
    expect(cookiesOf(answer)['drivebook_session']).toBeUndefined();
    expect(read(answer.text).querySelector<HTMLInputElement>('input[name=next]')?.value).toBe('/');
  });

  it('is accepted once', async () => {
    const way = await begun();
    expect((await complete(way)).status).toBe(200);
    const again = await complete(way);
    expect([again.status, refusal(again), cookiesOf(again)['drivebook_session']]).toEqual([
      401,
      WAY,
      undefined,
    ]);
  });

  it('is not accepted after ten minutes', async () => {
    const way = await begun();
    const { now } = Date;
    Date.now = () => now() + 600_001;
    try {
      expect([(await complete(way)).status]).toEqual([401]);
    } finally {
      Date.now = now;
    }
  });

  it('that refuses is reported only by its code', async () => {
    for (const [error, reason] of [
      ['access_denied', 'The issuer did not sign you in: access denied.'],
      ['<script>alert(1)</script>', UNSURE],
    ] as const) {
      const { back, way } = await begun();
      back.searchParams.delete('code');
      back.searchParams.set('error', error);
      back.searchParams.set('error_description', '<b>call 555 to pay</b>');
      const answer = await complete({ back, way });
      expect([answer.status, refusal(answer)]).toEqual([401, reason]);
      expect(answer.text).not.toContain('555');
    }
  });

  it('may have further parameters of the issuer', async () => {
    const { back, way } = await begun();
    back.searchParams.set('session_state', 'abc.def');
    expect((await complete({ back, way })).status).toBe(200);
  });
});

it.each([
  '//evil.example',
  '/\\evil.example',
  'https://evil.example',
  'javascript:alert(1)',
  `/${'x'.repeat(2000)}`,
])('is not started for %s', async (next) => {
  const answer = await supertest(app.app.getHttpServer()).get('/sign-in/issuer').query({ next });
  expect([answer.status, answer.body.errors?.[0]?.pointer, answer.headers['location']]).toEqual([
    422,
    '/next',
    undefined,
  ]);
});

it('is unavailable while the issuer cannot be reached, and works again', async () => {
  const way = await begun();
  issuer.isDown = true;
  try {
    const answer = await complete(way);
    expect([answer.status, textOf(read(answer.text).querySelector('main'))]).toEqual([
      503,
      expect.stringContaining('The issuer cannot be reached now.'),
    ]);
  } finally {
    issuer.isDown = false;
  }
  expect((await signedIn()).answer.status).toBe(200);
});

it('does not exist where it is not configured', async () => {
  const other = await startService({ AUTH: 'required', HOST: '127.0.0.1', API_KEY_PEPPER: 'x'.repeat(40) });
  try {
    const http = supertest(appOf(other).app.getHttpServer());
    for (const path of ['/sign-in/issuer', '/sign-in/callback?code=x&state=y']) {
      const { status, body } = await http.get(path);
      expect([status, body.detail]).toEqual([
        404,
        'Signing in at an issuer is not set up: it needs OIDC_CLIENT_ID.',
      ]);
    }
    expect((await http.get('/').set(BROWSER)).text).not.toContain('/sign-in/issuer');
  } finally {
    await other.close();
  }
});
