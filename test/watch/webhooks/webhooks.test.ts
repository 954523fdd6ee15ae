import { createHmac } from 'node:crypto';
import type { ServerResponse } from 'node:http';
import { Webhook } from 'standardwebhooks';
import { startApp, type TestApp } from '../../harness/app.js';
import { until } from '../../harness/until.js';
import { type Received, type Receiver, startReceiver, status } from './receiver.js';

// Standard Webhooks 1.0.0: signatures are verified by its library and by hand, retries and dead letters against a server on this machine.

const HOOKS = '/v1/projects/W/webhooks';

let app: TestApp;
let receiver: Receiver;

beforeAll(async () => {
  receiver = await startReceiver();
  app = await startApp({
    WEBHOOK_SENDING: 'on',
    WEBHOOK_ALLOWED_TARGETS: '127.0.0.0/8',
    WEBHOOK_RETRY_S: '0,0',
    WEBHOOK_TIMEOUT_MS: '4000',
  });
  await put('/v1/projects/W', { name: 'W', timeZone: 'Europe/Zurich', dayStart: '06:00', currency: 'CHF' });
});

afterAll(async () => {
  await app.close();
  await receiver.close();
});

interface Delivery {
  number: number;
  message: string;
  type: string;
  state: string;
  attempts: number;
  nextAt: string;
  lastAt: string;
  lastStatus: number | null;
  lastError: string | null;
}

/** Answers to the requests of this file, combined. */
interface Body extends Delivery {
  secret: string;
  previousSecretEndsAt: string;
  url: string;
  types: string[];
  enabled: boolean;
  items: Delivery[];
}

const done = async (request: Promise<{ status: number; text: string; body: unknown }>): Promise<Body> => {
  const answer = await request;
  if (answer.status >= 300) throw new Error(`${answer.status} ${answer.text}`);
  return answer.body as Body;
};
const put = (path: string, body: object): Promise<Body> => done(app.http.put(path).send(body));
const post = (path: string, body?: object): Promise<Body> => done(app.http.post(path).send(body));
const get = (path: string): Promise<Body> => done(app.http.get(path));

/** A webhook with a secret. */
const hook = async (name: string, settings: object = {}): Promise<string> => {
  await put(`${HOOKS}/${name}`, { url: receiver.url(`/${name}`), types: ['alert.raised'], ...settings });
  return (await post(`${HOOKS}/${name}/rotate-secret`, {})).secret as string;
};

/** Queues a message, as a trigger of the record does. */
const sendOut = async (type: string, body: object, project = 'W'): Promise<string | null> =>
  (
    await app.sql<{ id: string | null }>(
      'select send_out((select id from project where code = $1), $2, $3) as id',
      [project, type, JSON.stringify(body)],
    )
  )[0]?.id ?? null;

const deliveryOf = async (name: string, message: string | null): Promise<Delivery> => {
  const { items } = await get(`${HOOKS}/${name}/deliveries`);
  const found = items.find((each) => each.message === message);
  if (!found) throw new Error(`${message} is not on its way to ${name}`);
  return found;
};

/** Polls until something is found. */
const awaited = async <T>(find: () => Promise<T | undefined>): Promise<T> => {
  let found: T | undefined;
  await until(async () => (found = await find()) !== undefined);
  return found as T;
};

const untilState = (name: string, message: string | null, state: string): Promise<Delivery> =>
  awaited(async () => {
    const found = await deliveryOf(name, message);
    return found.state === state ? found : undefined;
  });

/** The signature by hand: base64 of HMAC-SHA256 of id, time and body with the bytes of the secret as key. */
const signedByHand = (secret: string, { headers, body }: Received): string => {
  const key = Buffer.from(secret.slice('whsec_'.length), 'base64');
  const text = `${headers['webhook-id']}.${headers['webhook-timestamp']}.${body}`;
  return `v1,${createHmac('sha256', key).update(text).digest('base64')}`;
};

const verified = (secret: string, { headers, body }: Received): unknown =>
  new Webhook(secret).verify(body, headers as Record<string, string>);

describe('a message', () => {
  it('is posted once, signed, as type, timestamp, project and data', async () => {
    const secret = await hook('signed');
    expect(secret).toMatch(/^whsec_[A-Za-z0-9+/]{43}=$/); // 32 bytes: 24 to 64 are allowed
    const id = await sendOut('alert.raised', { alert: 'A1', thrustKn: '120.50', words: 'Würfel – ✓' });
    const delivery = await untilState('signed', id, 'delivered');
    const [received, ...more] = receiver.of('/signed');
    if (!received) throw new Error('nothing was received');
    expect(more).toEqual([]);
    expect(received.headers).toMatchObject({
      'content-type': 'application/json',
      'webhook-id': id,
      'webhook-timestamp': expect.stringMatching(/^\d{10}$/),
    });
    expect(received.headers['webhook-signature']).toBe(signedByHand(secret, received));
    expect(verified(secret, received)).toEqual({
      type: 'alert.raised',
      timestamp: expect.stringMatching(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/),
      project: 'W',
      data: { alert: 'A1', thrustKn: '120.50', words: 'Würfel – ✓' },
    });
    expect(() => verified(secret, { ...received, body: received.body.replace('A1', 'A2') })).toThrow();
    expect(Math.abs(Number(received.headers['webhook-timestamp']) * 1000 - Date.now())).toBeLessThan(300_000);
    expect(id).toMatch(/^msg_[0-9a-f]{32}$/);
    expect(delivery).toMatchObject({ attempts: 1, lastStatus: 204, lastError: null, nextAt: null });
  });

  it('is written for each webhook that subscribes to its type, is enabled and has a secret', async () => {
    await hook('cleared', { types: ['alert.cleared'] });
    await hook('off', { types: ['alert.cleared'], enabled: false });
    await put(`${HOOKS}/bare`, { url: receiver.url('/bare'), types: ['alert.cleared'] });
    const id = await sendOut('alert.cleared', {});
    await untilState('cleared', id, 'delivered');
    const of = await app.sql(
      `select e.name from webhook_delivery d join webhook_endpoint e on e.id = d.endpoint_id join outgoing_message m on m.id = d.message_id where m.message = $1`,
      [id],
    );
    expect(of).toEqual([{ name: 'cleared' }]);
    expect(await sendOut('alert.acknowledged', {})).toBeNull();
    await put('/v1/projects/OTHER', { name: 'O', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' });
    expect(await sendOut('alert.cleared', {}, 'OTHER')).toBeNull();
  });

  it('of a transaction that is rolled back is never sent', async () => {
    await hook('back', { types: ['alert.acknowledged'] });
    await app.sql(
      `do $$ begin perform send_out((select id from project where code = 'W'), 'alert.acknowledged', '{}'); raise exception 'back'; exception when others then null; end $$`,
    );
    const id = await sendOut('alert.acknowledged', { after: true });
    await untilState('back', id, 'delivered');
    expect(receiver.of('/back').map(({ headers }) => headers['webhook-id'])).toEqual([id]);
  });
});

describe('an attempt that fails', () => {
  it('is followed by others under the same id, each with its own timestamp, until one is accepted', async () => {
    const secret = await hook('flaky');
    receiver.answer('/flaky', (response, count) => status(count < 3 ? 500 : 200)(response));
    const id = await sendOut('alert.raised', { n: 1 });
    expect(await untilState('flaky', id, 'delivered')).toMatchObject({ attempts: 3, lastStatus: 200 });
    const received = receiver.of('/flaky');
    expect(received.map(({ headers }) => headers['webhook-id'])).toEqual([id, id, id]);
    expect(new Set(received.map(({ body }) => body)).size).toBe(1);
    for (const each of received) verified(secret, each);
  });

  it.each([
    ['status 500', 'five', status(500), 500, 'it answered 500'],
    ['status 404', 'four', status(404), 404, 'it answered 404'],
    [
      'a redirect, which is not followed',
      'moved',
      status(302, { location: '/target' }),
      302,
      'it answered 302',
    ],
    [
      'a broken connection',
      'broken',
      (response: ServerResponse) => response.destroy(),
      null,
      'it ended the connection without an answer',
    ],
    ['no answer in time', 'silent', () => undefined, null, 'it did not answer within 4 s'],
  ])('with %s becomes a dead letter after the last attempt', async (_, name, how, lastStatus, lastError) => {
    await hook(name, { types: ['alert.cleared'] });
    receiver.answer(`/${name}`, how);
    const { message } = await post(`${HOOKS}/${name}/send-test`);
    const dead = await untilState(name, message, 'dead');
    expect(dead).toMatchObject({ attempts: 3, lastStatus, lastError, nextAt: null, type: 'webhook.test' });
    expect(receiver.of(`/${name}`)).toHaveLength(3);
    expect(receiver.of('/target')).toEqual([]);
    const listed = await get(`${HOOKS}/${name}/deliveries?state=dead`);
    expect(listed.items.map((each) => each.number)).toEqual([dead.number]);
  });

  it('is recorded though the answer never ends, of which only a limited part is read', async () => {
    await hook('endless');
    let sent = 0;
    receiver.answer('/endless', (response) => {
      const more = (): void => {
        if (response.destroyed) return;
        sent += 65_536;
        response.write(Buffer.alloc(65_536), () => setImmediate(more));
      };
      response.writeHead(200);
      more();
    });
    const { message } = await post(`${HOOKS}/endless/send-test`);
    expect(await untilState('endless', message, 'delivered')).toMatchObject({ attempts: 1, lastStatus: 200 });
    expect(sent).toBeLessThan(64 * 1024 * 1024);
  });

  it('with 410 disables the webhook, is in the history, and ends what was pending', async () => {
    await hook('gone', { types: ['alert.acknowledged'] });
    receiver.answer('/gone', status(410));
    const [{ n: before }] = (await app.sql<{ n: number }>(
      'select coalesce(max(number), 0)::int as n from history.change',
    )) as [{ n: number }];
    const id = await sendOut('alert.acknowledged', {});
    expect(await untilState('gone', id, 'dead')).toMatchObject({ attempts: 1, lastStatus: 410 });
    const webhook = await awaited(async () => {
      const found = await get(`${HOOKS}/gone`);
      return found.enabled ? undefined : found;
    });
    expect(webhook).toMatchObject({ disabledBecause: 'It answered 410 Gone', setBy: 'webhooks' });
    const changes = await get(`/v1/projects/W/changes?after=${before}`);
    expect(changes.items).toMatchObject([
      { actor: 'webhooks', credential: 'service', reason: 'The endpoint answered 410 Gone' },
    ]);
    expect(receiver.of('/gone')).toHaveLength(1);
    const refused = await app.http.post(`${HOOKS}/gone/send-test`);
    expect([refused.status, refused.body.detail]).toEqual([409, 'webhook gone is disabled: enable it first']);
    const enabled = await put(`${HOOKS}/gone`, { url: webhook.url, types: webhook.types, enabled: true });
    expect(enabled).toMatchObject({ enabled: true, disabledBecause: null });
  });

  it('with 429 makes the other messages of the webhook wait for as long as requested', async () => {
    await hook('busy', { types: ['alert.acknowledged'] });
    receiver.answer('/busy', status(429, { 'retry-after': '600' }));
    const first = await sendOut('alert.acknowledged', { n: 1 });
    await until(async () => (await deliveryOf('busy', first)).attempts === 1);
    const { nextAt, lastAt, state } = await deliveryOf('busy', first);
    expect(state).toBe('pending');
    expect((Date.parse(nextAt) - Date.parse(lastAt)) / 1000).toBeCloseTo(600, 0);
  });

  it('waits while the webhook is disabled, and continues when it is enabled', async () => {
    await hook('paused');
    receiver.answer('/paused', status(503, { 'retry-after': '86400' }));
    const { message, number } = await post(`${HOOKS}/paused/send-test`);
    await until(async () => (await deliveryOf('paused', message)).attempts === 1);
    receiver.answer('/paused', status(200));
    await app.sql('update webhook_delivery set next_at = now() where id = $1', [number]);
    await put(`${HOOKS}/paused`, { url: receiver.url('/paused'), types: ['alert.raised'], enabled: true });
    await untilState('paused', message, 'delivered');
  });
});

describe('a message that is sent again by hand', () => {
  it('has all its attempts again, and the same id', async () => {
    await hook('again', { types: ['alert.acknowledged'] });
    receiver.answer('/again', status(500));
    const id = await sendOut('alert.acknowledged', { n: 2 });
    const { number } = await untilState('again', id, 'dead');
    receiver.answer('/again', status(200));
    expect(await post(`${HOOKS}/again/deliveries/${number}/redeliver`)).toMatchObject({ message: id });
    expect(await untilState('again', id, 'delivered')).toMatchObject({ attempts: 1, lastStatus: 200 });
    expect(new Set(receiver.of('/again').map(({ headers }) => headers['webhook-id']))).toEqual(new Set([id]));
    const query = `mutation { redeliverWebhookDelivery(project: "W", name: "again", number: ${number}) { number state } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.redeliverWebhookDelivery.number).toBe(number);
    await until(() => receiver.of('/again').length === 5); // 3 failed, 1, 1
    const other = await app.http.post(`${HOOKS}/signed/deliveries/${number}/redeliver`);
    expect(other.status).toBe(404);
  });
});

describe('a slow webhook', () => {
  it('delays none of the others', async () => {
    const waiting: (() => void)[] = [];
    await hook('slow', { types: ['alert.acknowledged'] });
    receiver.answer('/slow', (response) => void waiting.push(() => response.writeHead(200).end()));
    for (let n = 0; n < 12; n += 1) await post(`${HOOKS}/slow/send-test`);
    await until(() => waiting.length > 0);
    const secret = await hook('quick');
    const { message } = await post(`${HOOKS}/quick/send-test`);
    await untilState('quick', message, 'delivered');
    expect(verified(secret, receiver.of('/quick')[0] as Received)).toMatchObject({ type: 'webhook.test' });
    expect((await get(`${HOOKS}/slow/deliveries?state=delivered`)).items).toEqual([]);
    await done(app.http.delete(`${HOOKS}/slow`));
  });
});

describe('a new secret', () => {
  it('signs beside the previous one, which expires', async () => {
    const first = await hook('turned', { types: ['alert.acknowledged'] });
    const { secret: second, previousSecretEndsAt } = await post(`${HOOKS}/turned/rotate-secret`, {
      graceH: 2,
    });
    expect(second).not.toBe(first);
    expect((Date.parse(previousSecretEndsAt) - Date.now()) / 3_600_000).toBeCloseTo(2, 1);
    const sent = async (): Promise<Received> => {
      const { message } = await post(`${HOOKS}/turned/send-test`);
      await untilState('turned', message, 'delivered');
      return receiver.of('/turned').at(-1) as Received;
    };
    const both = await sent();
    expect(both.headers['webhook-signature']).toBe(
      `${signedByHand(second, both)} ${signedByHand(first, both)}`,
    );
    for (const secret of [first, second])
      expect(verified(secret, both)).toMatchObject({ type: 'webhook.test' });
    const { secret: third } = await post(`${HOOKS}/turned/rotate-secret`, { graceH: 0 }); // as if the two had leaked
    const one = await sent();
    expect(one.headers['webhook-signature']).toBe(signedByHand(third, one));
    expect(() => verified(second, one)).toThrow();
  });

  it('appears in no answer but its own, nor in the database, the history or GraphQL', async () => {
    const secret = await hook('secret');
    const bytes = Buffer.from(secret.slice(6), 'base64');
    const forms = [secret.slice(6), bytes.toString('hex'), bytes.toString('base64url')];
    const rotated = await app.http.post(`${HOOKS}/secret/rotate-secret`).send({ graceH: 168 });
    expect(rotated.headers['cache-control']).toBe('no-store');
    const keyed = app.http.post(`${HOOKS}/secret/rotate-secret`).set('idempotency-key', '"one"').send({});
    const kept = (await done(keyed)).secret.slice(6);
    const answers = [
      await app.http.get(HOOKS),
      await app.http.get(`${HOOKS}/secret`),
      await app.http.put(`${HOOKS}/secret`).send({ url: receiver.url('/secret'), types: ['alert.cleared'] }),
      await app.http.get('/v1/projects/W/changes?first=1000'),
      await app.http.post('/graphql').send({
        query: `{ project(project: "W") { webhooks { name url secretMadeAt } webhookDeliveries(name: "secret") { nodes { message data } } } }`,
      }),
    ];
    const rows = await app.sql<{ name: string }>(
      `select oid::regclass::text as name from pg_class where relkind in ('r', 'p', 'v')
        and relnamespace::regnamespace::text in ('public', 'history', 'as_of', 'report', 'kept') and relname ~ 'webhook|message|idempotency|change|row'`,
    );
    const stored = await Promise.all(
      rows.map(async ({ name }) => JSON.stringify(await app.sql(`select t::text from ${name} t`))),
    );
    const everything = [...answers.map(({ text }) => text), ...stored];
    expect(answers.map(({ status: code }) => code)).toEqual([200, 200, 200, 200, 200]);
    expect(everything.join()).toContain('webhook_endpoint'); // the changes are included
    for (const form of [...forms, kept]) for (const text of everything) expect(text).not.toContain(form);
  });
});

describe('a refused request', () => {
  const refusal = async (body: object): Promise<[number, unknown]> => {
    const { status: code, body: answer } = await app.http.put(`${HOOKS}/bad`).send(body);
    return [
      code,
      answer.errors?.map(({ pointer, detail }: Record<string, string>) => `${pointer} ${detail}`),
    ];
  };
  const types = ['alert.raised'];

  it.each([
    [
      'another scheme',
      { url: 'ftp://board.example/', types },
      '/url',
      'must be a URL that begins with https://',
    ],
    ['a user', { url: 'https://me:pw@board.example/', types }, '/url', 'neither user nor fragment'],
    ['a fragment', { url: 'https://board.example/#x', types }, '/url', 'neither user nor fragment'],
    ['http', { url: 'http://board.example/', types }, '/url', 'must be an https URL'],
    ['a private address', { url: 'https://10.0.0.1/', types }, '/url', 'must lead to the public internet'],
    [
      'a long URL',
      { url: `https://board.example/${'x'.repeat(2000)}`, types },
      '/url',
      'shorter than or equal to 2000',
    ],
    [
      'no type',
      { url: 'https://board.example/', types: [] },
      '/types',
      'must name at least 1 of alert.raised',
    ],
    [
      'an unknown type',
      { url: 'https://board.example/', types: ['shift.posted'] },
      '/types/0',
      'must be one of alert.raised',
    ],
    [
      'a type twice',
      { url: 'https://board.example/', types: ['alert.raised', 'alert.raised'] },
      '/types',
      'repeat',
    ],
    ['no URL', { types }, '/url', 'missing'],
  ])('with %s names field and rule', async (_, body, pointer, rule) => {
    const before = await app.contents();
    const [code, faults] = await refusal(body);
    expect([code, faults]).toEqual([422, [expect.stringContaining(pointer)]]);
    expect(String(faults)).toContain(rule);
    expect(await app.contents()).toBe(before);
  });

  it('is a test without a secret, a rotation of nothing, and a grace of more than a week', async () => {
    await put(`${HOOKS}/fresh`, { url: 'https://board.example/', types });
    const test = await app.http.post(`${HOOKS}/fresh/send-test`);
    expect([test.status, test.body.detail]).toEqual([
      409,
      'webhook fresh has no secret yet: make one by rotate-secret first',
    ]);
    expect((await app.http.post(`${HOOKS}/nothing/rotate-secret`).send({})).status).toBe(404);
    const long = await app.http.post(`${HOOKS}/fresh/rotate-secret`).send({ graceH: 169 });
    expect([long.status, long.body.errors[0].pointer]).toEqual([422, '/graceH']);
  });

  it('is the 21st webhook of a project', async () => {
    await put('/v1/projects/MANY', { name: 'M', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' });
    const nth = (n: number) =>
      app.http.put(`/v1/projects/MANY/webhooks/N${n}`).send({ url: 'https://board.example/', types });
    for (let n = 1; n <= 20; n += 1) expect((await nth(n)).status).toBe(201);
    const { status: code, body } = await nth(21);
    expect([code, body.detail]).toEqual([409, 'a project has at most 20 webhooks: remove one first']);
    expect((await nth(20)).status).toBe(200);
  });
});
