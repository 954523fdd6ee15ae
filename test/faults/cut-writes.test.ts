import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type CutMoment, Proxy } from '../harness/proxy.js';
import { sized } from '../harness/sizes.js';

const PROJECT = '/v1/projects/P1';
const UNKNOWN = '/docs/problems#outcome_unknown';
const IN_A_MONTH = new Date(Date.now() + 30 * 86_400_000).toISOString();
const AWAY = '/docs/problems#unavailable';

let proxy: Proxy;
let app: TestApp;

beforeAll(async () => {
  app = await startApp({ API_KEY_PEPPER: 'p'.repeat(32) }, async (url) => {
    proxy = await Proxy.start(url);
    return proxy.url;
  });
  await aProject(app);
});

afterAll(async () => {
  proxy.restore();
  await app.close();
  await proxy.close();
});

interface Answer {
  status: number;
  body: { type?: string; detail?: string };
  headers: Record<string, string>;
}

/** What a write must result in, wherever it is interrupted. */
interface Cut {
  /** Sends the n-th of its kind; sent again, it is the same request. */
  send(n: number): PromiseLike<Answer>;
  /** How often the n-th was carried out, read directly from the database. */
  effects(n: number): Promise<number>;
}

const dayOf = (n: number): string => new Date(Date.UTC(2027, 0, n)).toISOString().slice(0, 10);

const aDraft = (n: number) => {
  const from = (1200 + n / 10).toFixed(3).replace(/^1/, '1+');
  const to = (1200 + (n + 1) / 10).toFixed(3).replace(/^1/, '1+');
  const shift = aShift(dayOf(n)).withStroke(n, from, to, '06:00', '06:40');
  return n % 2 === 0 ? shift.build() : shift.withActivity('BORE', '06:00', '06:40').build();
};

const count = async (sql: string, ...values: unknown[]): Promise<number> =>
  (await app.sql<{ n: number }>(`select count(*)::int as n from ${sql}`, values))[0]?.n ?? NaN;

const WRITES: Record<string, Cut> = {
  'a shift PUT': {
    send: (n) => app.http.put(`${PROJECT}/drives/N/shifts/${dayOf(n)}/day`).send(aDraft(n)),
    effects: (n) => count('history.shift where shift_date = $1', dayOf(n)),
  },
  'a POST with an Idempotency-Key': {
    send: (n) =>
      app.http
        .post(`${PROJECT}/api-keys`)
        .set('Idempotency-Key', `"cut-${n}"`)
        .send({ name: `loader-${n}`, scopes: ['record.read'], expiresAt: IN_A_MONTH }),
    effects: (n) => count('api_key where name = $1', `loader-${n}`),
  },
};

/** A write interrupted at a statement, and sent again. @returns the problem of the first attempt, and how often it had been carried out by then */
const cutAndRepeated = async (
  { send, effects }: Cut,
  n: number,
  when: CutMoment,
  statement: (sql: string, number: number) => boolean,
): Promise<{ type?: string; made: number }> => {
  proxy.cutAt({ when, statement });
  const { status, body, headers } = await send(n);
  const made = await effects(n);
  proxy.cutAt(undefined);
  if (status === 503) {
    expect(headers['retry-after']).toEqual(expect.any(String));
    expect([AWAY, UNKNOWN]).toContain(body.type);
    if (made > 0) expect(body.type).toBe(UNKNOWN); // before COMMIT is sent, the outcome is not in doubt
  } else expect([status, made]).toEqual([201, 1]); // found broken before anything was begun, and retried
  // a key's text is shown once: the repeat reports that it was created
  expect([200, 201, 409]).toContain((await send(n)).status);
  expect(await effects(n)).toBe(1);
  return { type: body.type, made };
};

describe.each(Object.entries(WRITES))('%s', (_, write) => {
  let n = 101;

  it('is carried out once, at whichever statement its connection breaks', async () => {
    await write.send(100); // opens the connection and prepares its statements
    const before = proxy.statements.length;
    expect((await write.send(101)).status).toBe(201);
    const statements = proxy.statements.length - before;
    for (let at = 1; at <= statements; at += sized(3, 1))
      for (const when of ['before', 'answered'] as CutMoment[]) {
        const begun = proxy.statements.length;
        await cutAndRepeated(write, (n += 1), when, (__, number) => number === begun + at);
      }
  });

  it.each([
    ['before', 0],
    ['answered', 1],
  ] as [CutMoment, number][])('has an unknown outcome once COMMIT was sent: %s', async (when, made) => {
    const isCommit = (sql: string): boolean => /^commit$/i.test(sql);
    expect(await cutAndRepeated(write, (n += 1), when, isCommit)).toEqual({ type: UNKNOWN, made });
  });
});
