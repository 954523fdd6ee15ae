import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { Served } from '../harness/served.js';
import { until } from '../harness/until.js';
import { type Receiver, startReceiver, status } from '../watch/webhooks/receiver.js';

// The result of an attempt is recorded after it: a service that ends in between leaves the message to the next one.

let database: TestDatabase;
let owner: pg.Client;
let receiver: Receiver;
let service: Served;

beforeEach(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  receiver = await startReceiver();
  service = new Served({
    DATABASE_URL: database.url,
    API_KEY_PEPPER: 'a pepper of the tests, and of nothing else',
    WEBHOOK_ALLOWED_TARGETS: '127.0.0.1',
  });
});

afterEach(async () => {
  await service.end('SIGKILL');
  await owner.end();
  await database.drop();
  await receiver.close();
});

const send = async (method: string, path: string, body: object = {}): Promise<Record<string, unknown>> => {
  const answer = await fetch(`${await service.address}/v1/projects/W${path}`, {
    method,
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
  if (!answer.ok) throw new Error(`${answer.status} ${await answer.text()}`);
  return (await answer.json()) as Record<string, unknown>;
};

const setUp = async (): Promise<void> => {
  await send('PUT', '', { name: 'W', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' });
  await send('PUT', '/webhooks/board', { url: receiver.url('/board'), types: ['alert.raised'] });
  await send('POST', '/webhooks/board/rotate-secret');
};

const ids = (): unknown[] => receiver.of('/board').map(({ headers }) => headers['webhook-id']);

const states = async (): Promise<unknown[]> =>
  (await owner.query('select state, attempts from webhook_delivery order by id')).rows;

it('a message is sent again under its id after the service was killed, or told to stop, while sending it', async () => {
  receiver.answer('/board', () => undefined);
  await service.start();
  await setUp();
  const { message } = await send('POST', '/webhooks/board/send-test');
  await until(() => ids().length === 1);
  await service.end('SIGKILL');
  expect(await states()).toEqual([{ state: 'pending', attempts: 0 }]);
  await service.start();
  await until(() => ids().length === 2);
  expect(await service.end('SIGTERM')).toBe(0); // an endpoint that does not answer does not delay the exit
  expect(await states()).toEqual([{ state: 'pending', attempts: 0 }]);
  receiver.answer('/board', status(204));
  await service.start();
  await until(async () => JSON.stringify(await states()) === '[{"state":"delivered","attempts":1}]');
  expect(ids()).toEqual([message, message, message]);
});
