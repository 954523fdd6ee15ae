import { jest } from '@jest/globals';
import { aProject, PROJECT } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { until } from '../harness/until.js';

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;
const PROJECT_URL = `/v1/projects/${PROJECT}`;

let app: TestApp;

/** Makes the service's clock wrong by this much; that of the database, another process, stays right. */
const skew = (byMs: number): void => {
  jest.useFakeTimers({
    now: Date.now() + byMs,
    doNotFake: [
      'hrtime',
      'nextTick',
      'performance',
      'queueMicrotask',
      'setImmediate',
      'clearImmediate',
      'setInterval',
      'clearInterval',
      'setTimeout',
      'clearTimeout',
    ],
  });
};

const databaseMs = async (): Promise<number> => {
  const [row] = await app.sql<{ now: Date }>('select clock_timestamp() as now');
  return row?.now.getTime() ?? NaN;
};

const fromNow = async (byMs: number): Promise<string> => new Date((await databaseMs()) + byMs).toISOString();

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterEach(() => jest.useRealTimers());

afterAll(() => app.close());

describe.each([
  ['an hour slow', -60 * MINUTE_MS],
  ['an hour fast', 60 * MINUTE_MS],
])('a service whose clock is %s', (_, byMs) => {
  it('answers as of a moment that is past by the clock of the database', async () => {
    const now = await fromNow(0);
    skew(byMs);
    const rest = await app.http.get(PROJECT_URL).query({ asOf: now });
    expect([rest.status, rest.body.code]).toEqual([200, PROJECT]);
    const { body } = await app.http
      .post('/graphql')
      .send({ query: `{ project(project: "${PROJECT}", asOf: "${now}") { code } }` });
    expect(body).toEqual({ data: { project: { code: PROJECT } } });
  });

  it('refuses a moment that is in the future by the clock of the database', async () => {
    const soon = await fromNow(10 * MINUTE_MS);
    const detail = `asOf must not be in the future: it is ${soon}`;
    skew(byMs);
    const rest = await app.http.get(PROJECT_URL).query({ asOf: soon });
    expect([rest.status, rest.body.errors]).toEqual([
      422,
      [{ in: 'query', pointer: '/asOf', value: soon, detail }],
    ]);
    const { body } = await app.http
      .post('/graphql')
      .send({ query: `{ project(project: "${PROJECT}", asOf: "${soon}") { code } }` });
    expect(body.errors[0]).toMatchObject({ message: detail });
  });

  it('makes and accepts API keys by the clock of the database', async () => {
    const name = `clock-${byMs}`;
    const expiresAt = await fromNow(10 * MINUTE_MS);
    skew(byMs);
    const made = await app.http
      .post(`${PROJECT_URL}/api-keys`)
      .send({ name, scopes: ['record.read'], expiresAt });
    expect([made.status, Date.parse(made.body.expiresAt)]).toEqual([201, Date.parse(expiresAt)]);
    expect(Math.abs(Date.parse(made.body.createdAt) - (await databaseMs()))).toBeLessThan(MINUTE_MS);
    const asked = (): Promise<{ status: number }> =>
      app.http.get(PROJECT_URL).set('Authorization', `Bearer ${made.body.key}`);
    expect((await asked()).status).toBe(200);
    expect((await app.http.delete(`${PROJECT_URL}/api-keys/${made.body.prefix}`)).status).toBe(204);
    const [kept] = await app.sql<{ revoked_at: Date }>('select revoked_at from api_key where prefix = $1', [
      made.body.prefix,
    ]);
    expect(Math.abs((kept?.revoked_at.getTime() ?? 0) - (await databaseMs()))).toBeLessThan(MINUTE_MS);
  });

  it('refuses a key for more than 400 days by the clock of the database, and an expired one', async () => {
    const tooLong = await fromNow(400 * DAY_MS + 10 * MINUTE_MS);
    const over = await fromNow(-10 * MINUTE_MS);
    skew(byMs);
    for (const expiresAt of [tooLong, over]) {
      const { status } = await app.http
        .post(`${PROJECT_URL}/api-keys`)
        .send({ name: 'never', scopes: ['record.read'], expiresAt });
      expect(status).toBe(422);
    }
  });

  it('accepts a key until it expires by the clock of the database', async () => {
    const name = `ending-${byMs}`;
    skew(byMs);
    const made = await app.http.post(`${PROJECT_URL}/api-keys`).send({ name, scopes: ['record.read'] });
    const asked = (): Promise<{ status: number }> =>
      app.http.get(PROJECT_URL).set('Authorization', `Bearer ${made.body.key}`);
    // retried, as a loaded machine may take longer than a second
    await until(async () => {
      await app.sql(`update api_key set expires_at = clock_timestamp() + interval '1 s' where prefix = $1`, [
        made.body.prefix,
      ]);
      return (await asked()).status === 200;
    });
    await app.sql('select pg_sleep(1.1)');
    expect((await asked()).status).toBe(401); // the cached answer does not outlive the key
  });
});
