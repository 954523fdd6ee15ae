import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalToOwner } from '../harness/service-role.js';

// The rules that the database enforces for webhooks, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await client.connect();
  await client.query(
    `insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR')`,
  );
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

const refusal = (sql: string): Promise<string> => refusalToOwner(client, sql);

const webhook = (url: string, types = '{alert.raised}', more = ''): string =>
  `insert into webhook_endpoint (id, project_id, name, url, types, enabled, disabled_because) values (1, 1, 'W', '${url}', '${types}', ${more || 'true, null'})`;

const message = `${webhook('https://board.example/')}; insert into outgoing_message (id, project_id, type, body) values (1, 1, 'alert.raised', '{}')`;

const delivery = (values: string): string =>
  `${message}; insert into webhook_delivery (project_id, endpoint_id, message_id, state, next_at, attempts) values (1, 1, 1, ${values})`;

describe('of webhooks', () => {
  it.each([
    ['the name is a code', webhook('https://x.example/').replace(`'W'`, `'a b'`), 'webhook_endpoint_name'],
    ['the address is of http', webhook('ftp://x.example/'), 'webhook_endpoint_url'],
    ['the address has no user', webhook('https://me:pw@x.example/'), 'webhook_endpoint_url'],
    ['the address has no fragment', webhook('https://x.example/#a'), 'webhook_endpoint_url'],
    ['the address has no backslash', webhook('https://x.example\\@y/'), 'webhook_endpoint_url'],
    [
      'the address is of 2000 characters at most',
      webhook(`https://x.example/${'x'.repeat(1983)}`),
      'webhook_endpoint_url',
    ],
    ['some type is wanted', webhook('https://x.example/', '{}'), 'webhook_endpoint_types'],
    [
      'the types are known',
      webhook('https://x.example/', '{alert.raised,shift.posted}'),
      'webhook_endpoint_types',
    ],
    [
      'a webhook disabled without a reason has none',
      webhook('https://x.example/', '{alert.raised}', `false, ' '`),
      'webhook_endpoint_disabled',
    ],
    [
      'there are twenty at most',
      `insert into webhook_endpoint (project_id, name, url, types) select 1, 'W' || n, 'https://x.example/', '{alert.raised}' from generate_series(1, 21) n`,
      'few_webhook_endpoints: a project has at most 20 webhooks: remove one first',
    ],
    [
      'a salt has 32 bytes',
      `${webhook('https://x.example/')}; insert into webhook_secret (project_id, endpoint_id, salt, fingerprint) values (1, 1, 'short', 'x')`,
      'webhook_secret_salt',
    ],
    [
      'a message has an id of its form',
      message
        .replace('(id, project_id, type', '(message, project_id, type')
        .replace(`(1, 1, 'alert`, `('msg_x', 1, 'alert`),
      'outgoing_message_name',
    ],
    [
      'the type of a message has parts',
      message.replace(/'alert.raised', '{}'/, `'alert', '{}'`),
      'outgoing_message_type',
    ],
    ['attempts are counted from 0', delivery(`'pending', now(), -1`), 'webhook_delivery_attempts'],
    ['a pending delivery has a time', delivery(`'pending', null, 0`), 'webhook_delivery_next'],
    ['a dead delivery has none', delivery(`'dead', now(), 1`), 'webhook_delivery_next'],
    [
      'a message goes to a webhook once',
      `${delivery(`'pending', now(), 0`)}; insert into webhook_delivery (project_id, endpoint_id, message_id) values (1, 1, 1)`,
      'webhook_delivery_endpoint_id_message_id_key',
    ],
  ])('%s', async (_, sql, expected) => {
    expect(await refusal(sql)).toContain(expected);
  });

  it('a webhook disabled by the service is no longer marked so once it is enabled', async () => {
    const sql = `${webhook('https://x.example/', '{alert.raised}', `false, 'It answered 410 Gone'`)}; update webhook_endpoint set enabled = true;
      do $$ begin if (select disabled_because is null and set_by = session_user from webhook_endpoint) then raise exception 'cleared'; end if; end $$`;
    expect(await refusal(sql)).toContain('cleared');
  });
});
