import type supertest from 'supertest';
import { readApiKey } from '../../src/common/auth/api-keys.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type Caller, OWNER, type Site, startSite, untilAnswered } from './site.js';

const KEYS = '/v1/projects/P1/api-keys';
const DAY_MS = 86_400_000;
const inDays = (days: number): string => new Date(Date.now() + days * DAY_MS).toISOString();

let site: Site;
let owner: Caller;
/** All answers except those that show a new key. */
const answered: string[] = [];
/** The keys created. */
const made: string[] = [];

beforeAll(async () => {
  site = await startSite();
  const caller = await site.as(OWNER);
  owner = {
    ...caller,
    get: (path) => caller.get(path).on('response', ({ text }: supertest.Response) => answered.push(text)),
  };
  await site.project('P1');
  await site.project('P2');
});

afterAll(() => site.close());

interface Made {
  name: string;
  key: string;
  prefix: string;
  createdAt: string;
  expiresAt: string;
}

const create = async (body: object, keys = KEYS): Promise<Made> => {
  const answer = await owner.post(keys, { scopes: ['record.read'], ...body });
  if (answer.status !== 201) throw new Error(`${answer.status} ${answer.text}`);
  made.push(answer.body.key);
  return answer.body as Made;
};

interface Listed extends Omit<Made, 'key'> {
  revokedAt: string | null;
  revokedBy: string | null;
  lastUsedAt: string | null;
}

const listed = async (prefix: string): Promise<Listed | undefined> =>
  ((await owner.get(KEYS)).body as Listed[]).find((key) => key.prefix === prefix);

describe('a new API key', () => {
  it('is shown once with its text, and listed without', async () => {
    const expiresAt = inDays(7);
    const { status, headers, body } = await owner.post(KEYS, {
      name: 'logger',
      scopes: ['record.read', 'strokes.import'],
      expiresAt,
    });
    expect([status, headers['cache-control']]).toEqual([201, 'no-store']);
    const { key, ...rest } = body as Made;
    made.push(key);
    expect(readApiKey(key)?.prefix).toBe(rest.prefix);
    const created = Date.parse(rest.createdAt);
    expect(Math.abs(created - Date.now())).toBeLessThan(600_000);
    expect(Date.parse(rest.expiresAt)).toBe(Date.parse(expiresAt));
    expect(rest).toEqual({
      name: 'logger',
      party: null,
      prefix: expect.stringMatching(/^[a-z2-7]{10}$/),
      scopes: ['record.read', 'strokes.import'],
      createdAt: expect.stringMatching(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?\+00:00$/),
      createdBy: OWNER,
      expiresAt: expect.any(String),
      revokedAt: null,
      revokedBy: null,
      lastUsedAt: null,
    });
    expect(await listed(rest.prefix)).toEqual(rest);
  });

  it('lives 90 days by default', async () => {
    const { createdAt, expiresAt } = await create({ name: 'ninety' });
    expect(Date.parse(expiresAt) - Date.parse(createdAt)).toBe(90 * DAY_MS);
  });

  it('is made, listed and revoked by GraphQL as by REST', async () => {
    const create = `mutation ($input: ApiKeyInput!) {
      createApiKey(project: "P1", input: $input) { key name prefix scopes createdBy revokedAt } }`;
    const input = { name: 'graph', scopes: ['record.read'], expiresAt: inDays(400 - 1) };
    const { key, ...rest } = (await owner.graphql(create, { input })).body.data.createApiKey;
    made.push(key);
    expect(rest).toEqual({
      name: 'graph',
      prefix: readApiKey(key)?.prefix,
      scopes: ['record.read'],
      createdBy: OWNER,
      revokedAt: null,
    });
    const fields = 'name party prefix scopes createdAt createdBy expiresAt revokedAt revokedBy lastUsedAt';
    const query = `{ project(project: "P1") { apiKeys { ${fields} } } }`;
    const both = (await owner.graphql(query)).body.data.project.apiKeys;
    expect(both).toEqual((await owner.get(KEYS)).body);
    const revoke = `mutation { removeApiKey(project: "P1", prefix: "${rest.prefix}") }`;
    expect((await owner.graphql(revoke)).body).toEqual({ data: { removeApiKey: true } });
    expect(await listed(rest.prefix)).toMatchObject({ revokedBy: OWNER });
  });

  it('is recorded in the history', async () => {
    const { prefix } = await create({ name: 'kept' });
    expect(
      await site.sql(
        `select c.actor, k.prefix from history.api_key k join history.change c on c.project_id = k.project_id and c.number = k.from_change
         where k.name = 'kept'`,
      ),
    ).toEqual([{ actor: OWNER, prefix }]);
  });
});

describe('a new API key is refused', () => {
  const TERM = 'must lie in the future, at most 400 days ahead';
  const sign = (permission: string): string => `${permission} is for people: machines do not sign`;
  const rights = (permission: string): string => `${permission} is for people: machines do not grant rights`;

  it.each<[string, object, string, string]>([
    ['without a scope', { scopes: [] }, '/scopes', 'scopes must name at least 1 of record.read'],
    ['without scopes', { scopes: undefined }, '/scopes', 'scopes is missing'],
    [
      'with an unknown scope',
      { scopes: ['record.write'] },
      '/scopes/0',
      'scopes: value 1, "record.write", must be one of record.read, ',
    ],
    [
      'with a role',
      { scopes: ['viewer'] },
      '/scopes/0',
      'scopes: value 1, "viewer", must be one of record.read, ',
    ],
    [
      'with a scope twice',
      { scopes: ['record.read', 'record.read'] },
      '/scopes',
      'scopes must not repeat a value',
    ],
    ['to countersign', { scopes: ['shift.countersign'] }, '/scopes/0', sign('shift.countersign')],
    ['to reopen', { scopes: ['shift.reopen'] }, '/scopes/0', sign('shift.reopen')],
    ['to certify', { scopes: ['valuation.certify'] }, '/scopes/0', sign('valuation.certify')],
    ['to write members', { scopes: ['record.read', 'members.write'] }, '/scopes/1', rights('members.write')],
    ['to write keys', { scopes: ['keys.write'] }, '/scopes/0', rights('keys.write')],
    ['to write projects', { scopes: ['project.write'] }, '/scopes/0', rights('project.write')],
    ['that has ended', { expiresAt: inDays(-0.001) }, '/expiresAt', TERM],
    ['for more than 400 days', { expiresAt: inDays(400.01) }, '/expiresAt', TERM],
    [
      'without an offset of its end',
      { expiresAt: '2027-03-01T06:00:00' },
      '/expiresAt',
      'expiresAt must be a moment',
    ],
    ['with an invalid name', { name: 'a key' }, '/name', 'name must be 1 to 40 letters'],
    ['without a name', { name: undefined }, '/name', 'name is missing'],
    ['with a secret of the caller’s', { key: 'dbk_x' }, '/key', 'property key should not exist'],
  ])('%s', async (_, wrong, pointer, detail) => {
    const before = await site.sql('select id from api_key');
    const input = { name: 'wrong', scopes: ['record.read'], ...wrong };
    const { status, body } = await owner.post(KEYS, input);
    expect([status, body.errors[0].pointer, body.detail]).toEqual([
      422,
      pointer,
      expect.stringContaining(detail),
    ]);
    expect(await site.sql('select id from api_key')).toEqual(before);
  });

  it('naming every invalid scope, by GraphQL too', async () => {
    const query = `mutation ($input: ApiKeyInput!) { createApiKey(project: "P1", input: $input) { key } }`;
    const input = { name: 'wrong', scopes: ['shift.reopen', 'keys.write'], expiresAt: inDays(-1) };
    const { errors } = (await owner.graphql(query, { input })).body.errors[0].extensions;
    expect(errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual([
      '/scopes/0',
      '/scopes/1',
      '/expiresAt',
    ]);
  });

  it('to those who may only read keys, or not even that', async () => {
    await owner.put('/v1/projects/P1/members/eva', { roles: ['engineer'] });
    const eva = await site.as('eva');
    const input = { name: 'eva', scopes: ['record.read'] };
    for (const refused of [
      await eva.get(KEYS),
      await eva.post(KEYS, input),
      await eva.delete(`${KEYS}/abcdefgh23`),
    ])
      expect([refused.status, refused.body.detail]).toEqual([
        403,
        expect.stringContaining('eva has no keys.'),
      ]);
    expect((await site.http.post(KEYS).send(input)).status).toBe(401);
    const machine = site.bearing(
      (await create({ name: 'reader', scopes: ['keys.read', 'members.read'] })).key,
    );
    expect((await machine.get(KEYS)).status).toBe(200);
    expect((await machine.post(KEYS, input)).status).toBe(403);
    expect((await machine.put('/v1/projects/P1/members/eva', { roles: [] })).status).toBe(403);
  });

  describe('where the service has no pepper', () => {
    let app: TestApp;

    beforeAll(async () => {
      app = await startApp({ API_KEY_PEPPER: '' });
      const project = { name: 'X', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };
      await app.http.put('/v1/projects/P1').send(project);
    });

    afterAll(() => app.close());

    it('with a message that says so', async () => {
      const { status, body } = await app.http.post(KEYS).send({ name: 'x', scopes: ['record.read'] });
      expect([status, body.detail]).toEqual([
        409,
        'This service does not support API keys yet: set API_KEY_PEPPER.',
      ]);
      expect((await app.http.get(KEYS)).body).toEqual([]);
    });
  });
});

describe('an API key', () => {
  const PROJECT = '/v1/projects/P1';
  const CLASS = `${PROJECT}/ground-classes/A`;

  it('may do what its scopes allow and no more, and is the actor in the history', async () => {
    const machine = site.bearing((await create({ name: 'writer', scopes: ['catalogue.write'] })).key);
    expect((await machine.put(CLASS, { description: 'Good rock' })).status).toBeLessThan(300);
    const refused = await machine.get(PROJECT);
    expect([refused.status, refused.body.detail]).toEqual([
      403,
      'key:writer has no record.read in project P1.',
    ]);
    const query = '{ project(project: "P1") { name } }';
    expect((await machine.graphql(query)).body.errors[0].extensions.status).toBe(403);
    const [last] = await site.sql(
      `select actor, credential from history.change where 'ground_class' = any (tables)`,
    );
    expect(last).toEqual({
      actor: 'key:writer',
      credential: `key ${readApiKey(made[made.length - 1] ?? '')?.prefix}`,
    });
  });

  it('reports when it was last used, which does not change the record', async () => {
    const { key, prefix, createdAt } = await create({ name: 'used' });
    const changes = await site.sql('select count(*) from history.change');
    expect((await listed(prefix))?.lastUsedAt).toBeNull();
    expect((await site.bearing(key).get(PROJECT)).status).toBe(200);
    const used = Date.parse((await listed(prefix))?.lastUsedAt ?? '');
    expect(used).toBeGreaterThanOrEqual(Date.parse(createdAt));
    expect(used - Date.parse(createdAt)).toBeLessThan(60_000);
    expect(await site.sql('select count(*) from history.change')).toEqual(changes);
    const [then] = await site.sql<{ made_at: Date }>('select max(made_at) as made_at from history.change');
    const past = (await owner.get(`${KEYS}?asOf=${then?.made_at.toISOString()}`)).body as Listed[];
    expect(past.find((each) => each.prefix === prefix)?.lastUsedAt).toBeNull();
  });

  it('has access to no other project', async () => {
    const machine = site.bearing((await create({ name: 'here', scopes: ['record.read', 'keys.read'] })).key);
    const there = await machine.get('/v1/projects/P2');
    const nowhere = await machine.get('/v1/projects/P3');
    expect([there.status, there.body.detail]).toEqual([404, 'There is no project P2.']);
    expect([nowhere.status, nowhere.body.detail]).toEqual([404, 'There is no project P3.']);
    expect((await machine.get('/v1/projects/P2/api-keys')).status).toBe(404);
    const codes = (await machine.get('/v1/projects')).body.map(({ code }: { code: string }) => code);
    expect(codes).toEqual(['P1']);
  });

  it('is listed and revoked in its own project only', async () => {
    const { prefix } = await create({ name: 'there' }, '/v1/projects/P2/api-keys');
    expect(await listed(prefix)).toBeUndefined();
    const revoke = await owner.delete(`${KEYS}/${prefix}`);
    expect([revoke.status, revoke.body.detail]).toEqual([
      404,
      `There is no API key ${prefix} in project P1.`,
    ]);
    expect(
      await site.sql('select from api_key where prefix = $1 and revoked_at is null', [prefix]),
    ).toHaveLength(1);
  });

  it('is not accepted with another secret, in another form, or by its prefix alone', async () => {
    const { key, prefix } = await create({ name: 'proven' });
    const other = (await create({ name: 'other' })).key;
    expect((await site.bearing(key).get(PROJECT)).status).toBe(200);
    const wrong = [
      `dbk_${prefix}_${readApiKey(other)?.secret}`,
      `dbk_${prefix}_${'A'.repeat(43)}`,
      key.slice(0, -1) + (key.endsWith('A') ? 'E' : 'A'),
      `dbk_${readApiKey(other)?.prefix}_${readApiKey(key)?.secret}`,
      `dbk_aaaaaaaaaa_${readApiKey(key)?.secret}`,
      `dbk_${prefix}`,
      prefix,
    ];
    for (const credential of wrong) {
      const { status, body } = await site.bearing(credential).get(PROJECT);
      expect([credential, status]).toEqual([credential, 401]);
      expect(body.detail).not.toContain(prefix);
    }
    expect((await site.bearing(key).get(PROJECT)).status).toBe(200);
  });

  it('ends when it is revoked, and its row remains', async () => {
    const { key, prefix } = await create({ name: 'revoked' });
    const machine = site.bearing(key);
    expect((await machine.get(PROJECT)).status).toBe(200);
    expect((await owner.delete(`${KEYS}/${prefix}`)).status).toBe(204);
    const refused = await untilAnswered(() => machine.get(PROJECT), 401);
    expect([refused.status, refused.body.detail]).toEqual([
      401,
      'The API key is not known, has expired or was revoked.',
    ]);
    const once = await listed(prefix);
    expect(once).toMatchObject({ name: 'revoked', revokedBy: OWNER, revokedAt: expect.any(String) });
    const changes = await site.sql('select count(*) from history.change');
    expect((await owner.delete(`${KEYS}/${prefix}`)).status).toBe(204);
    expect(await listed(prefix)).toEqual(once);
    expect(await site.sql('select count(*) from history.change')).toEqual(changes);
  });

  it('that does not exist cannot be revoked', async () => {
    const { status, body } = await owner.delete(`${KEYS}/abcdefgh23`);
    expect([status, body.detail]).toEqual([404, 'There is no API key abcdefgh23 in project P1.']);
  });

  it('ends when it expires', async () => {
    const { key, prefix } = await create({ name: 'ended' });
    const end = `update api_key set created_at = now() - interval '2 days', expires_at = now() - interval '1 second' where prefix = $1`;
    await site.sql(end, [prefix]);
    expect((await site.bearing(key).get(PROJECT)).status).toBe(401);
    expect((await listed(prefix))?.lastUsedAt).toBeNull();
  });

  it('is replaced without a gap: two of one name may live at once, but no third', async () => {
    const old = await create({ name: 'turn' });
    const next = await create({ name: 'turn' });
    for (const { key } of [old, next]) expect((await site.bearing(key).get(PROJECT)).status).toBe(200);
    const third = await owner.post(KEYS, { name: 'turn', scopes: ['record.read'] });
    expect([third.status, third.body.detail]).toEqual([
      409,
      'turn has two live keys already: revoke one first',
    ]);
    expect(third.text).not.toContain('dbk_');
    expect((await owner.delete(`${KEYS}/${old.prefix}`)).status).toBe(204);
    expect((await untilAnswered(() => site.bearing(old.key).get(PROJECT), 401)).status).toBe(401);
    const after = await create({ name: 'turn' });
    for (const { key } of [next, after]) expect((await site.bearing(key).get(PROJECT)).status).toBe(200);
    await create({ name: 'turn' }, '/v1/projects/P2/api-keys'); // there the name belongs to another project
  });

  it('is never the third of a name when several are made at once', async () => {
    const ask = () => owner.post(KEYS, { name: 'crowd', scopes: ['record.read'] });
    const statuses = (await Promise.all(Array.from({ length: 5 }, ask))).map(({ status }) => status);
    expect(statuses.sort()).toEqual([201, 201, 409, 409, 409]);
  });
});

/** Every row of every table, histories too, as text. */
const everything = async (): Promise<string> => {
  const tables = await site.sql<{ name: string }>(
    `select format('%I.%I', schemaname, tablename) as name from pg_tables where schemaname in ('public', 'history')`,
  );
  const rows: string[] = [];
  for (const { name } of tables)
    rows.push(
      ...(await site.sql<{ row: string }>(`select t::text as row from ${name} t`)).map(({ row }) => row),
    );
  return rows.join('\n');
};

describe('the secret of an API key', () => {
  it('is nowhere in the database, in whatever form', async () => {
    const contents = await everything();
    expect(made.length).toBeGreaterThan(10);
    for (const key of made) {
      const { prefix = '', secret = '' } = readApiKey(key) ?? {};
      expect(contents).toContain(prefix);
      const bytes = [Buffer.from(secret), Buffer.from(secret, 'base64url')];
      for (const form of [
        secret,
        ...bytes.flatMap((each) => [each.toString('hex'), each.toString('base64')]),
      ])
        expect(contents).not.toContain(form);
    }
  });

  it('and its hash are in no answer', async () => {
    await owner.get(KEYS);
    await owner.get('/v1/projects/P2/api-keys');
    const [{ number: last = 0 } = {}] = await site.sql<{ number: number }>(
      `select max(number)::int as number from history.change where project_id = (select id from project where code = 'P1')`,
    );
    for (let change = 1; change <= last; change += 1)
      await owner.get(`/v1/projects/P1/changes/${change}/rows`);
    const rows = await site.sql<{ hash: Buffer }>('select hash from api_key');
    const texts = answered.join('\n');
    expect(texts).toContain('"prefix"');
    expect(texts).toContain('"table":"api_key"');
    expect(texts).not.toMatch(/"hash"|dbk_/);
    for (const { hash } of rows)
      for (const form of ['hex', 'base64', 'base64url'] as const)
        expect(texts).not.toContain(hash.toString(form));
    for (const key of made) expect(texts).not.toContain(readApiKey(key)?.secret);
    const fields = '{ __type(name: "ApiKey") { fields { name } } }';
    expect(JSON.stringify((await owner.graphql(fields)).body)).not.toContain('"hash"');
  });
});
