import { jest } from '@jest/globals';
import type { Test } from 'supertest';
import { ApiKeyHash, mintApiKey } from '../../src/common/auth/api-keys.js';
import { startApp, type TestApp } from '../harness/app.js';

const PEPPER = 'a pepper for the tests, long enough';

let app: TestApp;

afterEach(async () => {
  jest.restoreAllMocks();
  await app.close();
});

const later = (seconds: number): void => {
  const now = Date.now();
  jest.spyOn(Date, 'now').mockImplementation(() => now + seconds * 1000);
};

/** A key with the right to read, as it is sent. */
const aKey = async (name: string): Promise<string> => {
  const { prefix, secret, text } = mintApiKey();
  await app.sql(
    `insert into api_key (name, prefix, hash, scopes, created_by, expires_at)
     values ($1, $2, $3, '{record.read}', 'test', now() + interval '1 day')`,
    [name, prefix, new ApiKeyHash(PEPPER).of(secret)],
  );
  return `Bearer ${text}`;
};

const get = (credential?: string, url = '/v1/projects'): Test =>
  credential === undefined ? app.http.get(url) : app.http.get(url).set('authorization', credential);

const statuses = async (count: number, credential?: string): Promise<number[]> => {
  const found = [];
  for (let i = 0; i < count; i += 1) found.push((await get(credential)).status);
  return found;
};

describe('requests from one address', () => {
  beforeEach(async () => {
    app = await startApp({ RATE_LIMIT_PER_MINUTE: '4', CORS_ORIGINS: 'https://office.example' });
  });

  it('are counted whatever they are for, and refused above the limit until the minute is over', async () => {
    const first = await get();
    expect(first.headers).toMatchObject({
      'x-ratelimit-limit': '4',
      'x-ratelimit-remaining': '3',
      'x-ratelimit-reset': '60',
    });
    expect((await app.http.post('/graphql').send({ query: '{ projects { code } }' })).status).toBe(200);
    expect((await get(undefined, '/no/such/route')).status).toBe(404);
    expect((await get(undefined, '/docs')).headers['x-ratelimit-remaining']).toBe('0');

    const refused = await app.http.get('/v1/projects').set('origin', 'https://office.example');
    expect([refused.status, refused.type]).toEqual([429, 'application/problem+json']);
    const seconds = refused.headers['retry-after'];
    expect(Number(seconds)).toBeGreaterThan(50);
    expect(refused.body).toEqual({
      type: '/docs/problems#too_many_requests',
      title: 'Too many requests',
      status: 429,
      detail: `More than 4 requests within a minute. Wait ${seconds} s.`,
      retryAfterS: Number(seconds),
    });
    expect(refused.headers).toMatchObject({
      'x-ratelimit-remaining': '0',
      'access-control-allow-origin': 'https://office.example',
    });
    expect((await app.http.post('/graphql').send({ query: '{ projects { code } }' })).status).toBe(429);
    expect((await get(undefined, '/no/such/route')).status).toBe(429);

    later(61);
    expect((await get()).status).toBe(200);
  });

  it('are not counted for the health of the service', async () => {
    for (let i = 0; i < 6; i += 1) await get(undefined, '/v1/health/live');
    const { headers } = await get(undefined, '/v1/health');
    expect(headers['x-ratelimit-limit']).toBeUndefined();
    expect(await statuses(5)).toEqual([200, 200, 200, 200, 429]);
    expect((await get(undefined, '/v1/health')).status).toBe(200);
  });
});

describe('requests with a credential', () => {
  it('are counted by a valid credential; with invented ones, by their address', async () => {
    app = await startApp({ RATE_LIMIT_PER_MINUTE: '4', AUTH: 'required', API_KEY_PEPPER: PEPPER });
    const [one, other] = [await aKey('one'), await aKey('other')];
    expect(await statuses(5, one)).toEqual([200, 200, 200, 200, 429]);
    expect([(await get('Bearer a')).status, (await get('Bearer b')).status]).toEqual([401, 401]);
    expect([(await get('Bearer c')).status, (await get()).status]).toEqual([401, 401]);
    expect([(await get('Bearer d')).status, (await get()).status]).toEqual([429, 429]);
    expect([(await get(one)).status, (await get(other)).status]).toEqual([429, 200]); // the other was not seen before
  });

  it('are not limited by 0', async () => {
    app = await startApp(); // both limits are 0 for tests
    expect(new Set(await statuses(50))).toEqual(new Set([200]));
    expect(new Set(await statuses(50, 'Bearer a'))).toEqual(new Set([401]));
    expect((await get()).headers['x-ratelimit-limit']).toBeUndefined();
  });
});

describe('refused credentials', () => {
  beforeEach(async () => {
    app = await startApp({
      AUTH_FAILURES_PER_MINUTE: '3',
      AUTH: 'required',
      API_KEY_PEPPER: PEPPER,
      CORS_ORIGINS: 'https://office.example',
    });
  });

  it('are answered 429 above the limit, until the minute is over', async () => {
    const key = await aKey('one');
    const tried = [];
    for (const guess of ['a', 'b', 'c']) tried.push((await get(`Bearer ${guess}`)).status);
    expect(tried).toEqual([401, 401, 401]);
    const { status, headers, body } = await get('Bearer d').set('origin', 'https://office.example');
    expect(headers['access-control-allow-origin']).toBe('https://office.example');
    expect([status, body]).toEqual([
      429,
      {
        type: '/docs/problems#too_many_requests',
        title: 'Too many requests',
        status: 429,
        detail: `Too many credentials were refused. Wait ${headers['retry-after']} s.`,
        retryAfterS: Number(headers['retry-after']),
      },
    ]);
    expect(Number(headers['retry-after'])).toBeGreaterThan(50);
    expect((await get(key)).status).toBe(200);
    expect((await get('Bearer d', '/v1/health')).status).toBe(200);
    later(61);
    expect((await get('Bearer d')).status).toBe(401);
  });

  it('do not shut out credentials accepted before, nor requests without any', async () => {
    const key = await aKey('one');
    expect(await statuses(1, key)).toEqual([200]);
    expect(await statuses(4, 'Bearer expired')).toEqual([401, 401, 401, 429]);
    expect(await statuses(2, key)).toEqual([200, 200]);
    expect(await statuses(5)).toEqual([401, 401, 401, 401, 401]);
  });

  it('lose their earlier standing', async () => {
    const key = await aKey('one');
    expect(await statuses(1, key)).toEqual([200]);
    await app.sql(`update api_key set revoked_at = now(), revoked_by = 'test'`);
    later(10); // answers of the database are cached for two seconds
    jest.spyOn(performance, 'now').mockReturnValue(performance.now() + 10_000);
    expect(await statuses(4, key)).toEqual([401, 401, 401, 429]);
  });
});
