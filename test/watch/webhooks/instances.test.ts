import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import pg from 'pg';
import { createApp } from '../../../src/app.js';
import { loadConfig } from '../../../src/common/config/config.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { PEPPER } from '../../harness/app.js';
import { oneAtATime } from '../../harness/schema-once.js';
import { inLong } from '../../harness/sizes.js';
import { until } from '../../harness/until.js';
import { newSecret } from '../../../src/features/watch/webhooks/secrets.js';
import { type Receiver, startReceiver } from './receiver.js';

// Several instances on one database: only one of them sends at a time, and any remaining one continues.

let database: TestDatabase;
let owner: pg.Client;
let receiver: Receiver;
const instances: NestFastifyApplication[] = [];

beforeAll(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  receiver = await startReceiver();
  const { salt, fingerprint } = newSecret(PEPPER).kept;
  await owner.query(`insert into project (code, name, time_zone, currency) values ('W', 'W', 'UTC', 'EUR')`);
  await owner.query(
    `insert into webhook_endpoint (project_id, name, url, types, secret_made_at) select id, 'board', '${receiver.url('/board')}', '{alert.raised}', now() from project`,
  );
  await owner.query(
    'insert into webhook_secret (project_id, endpoint_id, salt, fingerprint) select project_id, id, $1, $2 from webhook_endpoint',
    [salt, fingerprint],
  );
});

afterAll(async () => {
  for (const instance of instances.splice(0)) await instance.close();
  await owner.end();
  await database.drop();
  await receiver.close();
});

const start = async (pepper = PEPPER): Promise<NestFastifyApplication> => {
  const config = {
    ...loadConfig({ API_KEY_PEPPER: pepper, WEBHOOK_ALLOWED_TARGETS: '127.0.0.1', WEBHOOK_RETRY_S: '86400' }),
    databaseUrl: database.url,
    logLevel: 'silent' as const,
  };
  const app = await oneAtATime(async () => {
    const made = await createApp(config);
    await made.init();
    return made;
  });
  instances.push(app);
  return app;
};

const stop = async (app: NestFastifyApplication): Promise<void> => {
  instances.splice(instances.indexOf(app), 1);
  await app.close();
};

const sendOut = async (n: number): Promise<string> => {
  const sql = `select send_out(id, 'alert.raised', jsonb_build_object('n', $1::int)) as id from project`;
  return (await owner.query<{ id: string }>(sql, [n])).rows[0]?.id ?? '';
};

const received = (): string[] =>
  receiver
    .of('/board')
    .map(({ headers }) => String(headers['webhook-id']))
    .sort();

const countOf = async (sql: string): Promise<number> =>
  (await owner.query<{ n: number }>(`select count(*)::int as n ${sql}`)).rows[0]?.n ?? 0;

const untilSettled = (): Promise<void> =>
  until(async () => (await countOf(`from webhook_delivery where state = 'pending' and attempts = 0`)) === 0);

const SENDERS = `from pg_stat_activity where datname = current_database() and application_name = 'drivebook webhooks'`;

it('messages committed before any instance ran are sent once by two, and by the remaining one', async () => {
  const sent = [await sendOut(0)];
  const [one, two] = [await start(), await start()];
  await untilSettled();
  for (let n = 1; n <= 40; n += 1) sent.push(await sendOut(n));
  await untilSettled();
  expect(received()).toEqual([...sent].sort());
  await stop(one);
  sent.push(await sendOut(41));
  await untilSettled();
  expect(received()).toEqual([...sent].sort());
  await stop(two);
  await until(async () => (await countOf(SENDERS)) === 0); // no connection is left
});

inLong(() => {
  it('a sender whose connection breaks reconnects and continues', async () => {
    const app = await start();
    await until(async () => (await countOf(SENDERS)) === 1);
    await owner.query(`select pg_terminate_backend(pid) ${SENDERS}`);
    const message = await sendOut(50);
    await untilSettled();
    expect(received().filter((id) => id === message)).toEqual([message]);
    await stop(app);
  });
});

it('nothing is sent with a pepper other than that of the secret: a copy of the database notifies nobody', async () => {
  const before = received().length;
  const app = await start('another pepper of the tests, of nothing else');
  await sendOut(60);
  await untilSettled();
  const { rows } = await owner.query(
    'select state, attempts, last_status, last_error from webhook_delivery order by id desc limit 1',
  );
  expect(rows).toEqual([
    {
      state: 'pending',
      attempts: 1,
      last_status: null,
      last_error: 'its secret was made with another API_KEY_PEPPER: rotate the secret',
    },
  ]);
  expect(received()).toHaveLength(before);
  await stop(app);
});

inLong(() => {
  it('finished messages are removed after their retention, pending ones never', async () => {
    await owner.query(
      `update outgoing_message set occurred_at = now() - interval '31 days' where body->>'n' in ('1', '2', '60')`,
    );
    const app = await start();
    await until(async () => (await countOf(`from outgoing_message where body->>'n' in ('1', '2')`)) === 0);
    expect(await countOf(`from outgoing_message where body->>'n' = '60'`)).toBe(1);
    expect(
      await countOf(
        `from webhook_delivery d where not exists (select from outgoing_message m where m.id = d.message_id)`,
      ),
    ).toBe(0);
    await stop(app);
  });
});
