import { readApiKey } from '../../src/common/auth/api-keys.js';
import { captured } from '../harness/captured-command.js';
import { type Caller, PEPPER, type Site, startSite, untilAnswered } from './site.js';

const DAY_MS = 86_400_000;
const PROJECT = { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };

const SETTINGS = ['DATABASE_URL', 'DATA_DIR', 'API_KEY_PEPPER'] as const;
const before = Object.fromEntries(SETTINGS.map((name) => [name, process.env[name]]));

/** Sets the environment variables that the command reads. */
const set = (settings: Partial<Record<(typeof SETTINGS)[number], string>>): void => {
  for (const name of SETTINGS) {
    if (settings[name] === undefined) delete process.env[name];
    else process.env[name] = settings[name];
  }
};

const run = (...args: string[]): ReturnType<typeof captured> => captured('administrator', ...args);

/** Creates a key and takes it from the first line of the output. */
const keyOf = async (...args: string[]): Promise<string> => {
  const { status, out, err } = await run('key', ...args);
  if (status !== 0) throw new Error(err);
  return out.split('\n')[0] ?? '';
};

let site: Site;

beforeAll(async () => {
  site = await startSite();
});

beforeEach(async () => {
  await site.sql('delete from administrator');
  set({ DATABASE_URL: site.url, API_KEY_PEPPER: PEPPER });
});

afterAll(async () => {
  set(before);
  await site.close();
});

describe('drivebook administrator add', () => {
  it('makes the first administrator, who makes a project and its members', async () => {
    const ada = await site.as('idp|ada');
    expect((await ada.put('/v1/projects/FIRST', PROJECT)).status).toBe(403);
    expect(await run('add', 'idp|ada')).toMatchObject({
      status: 0,
      out: 'idp|ada is an administrator of the installation now.\n',
      err: '',
    });
    const made = await untilAnswered(() => ada.put('/v1/projects/FIRST', PROJECT), 201);
    expect([made.status, made.body.code]).toEqual([201, 'FIRST']);
    const members = '/v1/projects/FIRST/members';
    expect((await ada.put(`${members}/eva`, { roles: ['engineer'] })).status).toBeLessThan(300);
    expect((await ada.get(members)).body).toEqual([{ subject: 'eva', roles: ['engineer'], party: null }]);
    // an administrator cannot sign: that takes another role
    const shift = '/v1/projects/FIRST/drives/N/shifts/2027-03-01/day';
    expect((await ada.post(`${shift}/countersign`, {})).status).toBe(403);
    const eva = await site.as('eva');
    expect((await untilAnswered(() => eva.get('/v1/projects/FIRST'), 200)).status).toBe(200);
    expect((await eva.put('/v1/projects/SECOND', PROJECT)).status).toBe(403);
  });

  it('reports a person who is an administrator already', async () => {
    await run('add', 'ada');
    const { status, out } = await run('add', 'ada');
    expect([status, out]).toEqual([0, 'ada was an administrator of the installation already.\n']);
    expect(await site.sql('select subject from administrator')).toEqual([{ subject: 'ada' }]);
  });
});

describe('drivebook administrator remove', () => {
  it('revokes the right, everywhere within 2 s', async () => {
    await run('add', 'bea');
    const bea = await site.as('bea');
    expect((await untilAnswered(() => bea.put('/v1/projects/THIRD', PROJECT), 200)).status).toBeLessThan(300);
    expect((await bea.get('/v1/projects/THIRD')).status).toBe(200);
    expect(await run('remove', 'bea')).toMatchObject({
      status: 0,
      out: 'bea is no longer an administrator of the installation.\n',
      err: '',
    });
    expect((await untilAnswered(() => bea.get('/v1/projects/THIRD'), 404)).status).toBe(404);
    expect((await bea.put('/v1/projects/FOURTH', PROJECT)).status).toBe(403);
    expect((await bea.get('/v1/projects')).body).toEqual([]);
  });

  it('fails for a person who is not an administrator', async () => {
    const { status, out, err } = await run('remove', 'nobody');
    expect([status, out, err]).toEqual([1, '', 'nobody is not an administrator of the installation.\n']);
  });
});

describe('drivebook administrator list', () => {
  it('prints the administrators by subject, and the live keys without their secrets', async () => {
    expect((await run('list')).out).toBe('The installation has no administrator and no key.\n');
    await run('add', 'zoe');
    await run('add', 'ada');
    const key = await keyOf('lister');
    const { status, out } = await run('list');
    const { prefix = '', secret = '' } = readApiKey(key) ?? {};
    const instant = String.raw`\d{4}-\d\d-\d\dT[\d:.]+Z`;
    expect(out).toMatch(
      new RegExp(
        `^ada  since ${instant}\nzoe  since ${instant}\nkey:lister  ${prefix}  by command:\\S+  until ${instant}\n$`,
      ),
    );
    expect([status, out.includes(secret)]).toEqual([0, false]);
    await run('revoke', prefix);
    expect((await run('list')).out).not.toContain('lister');
  });
});

describe('drivebook administrator key', () => {
  let ada: Caller;

  beforeEach(async () => {
    await run('add', 'ada');
    ada = await site.as('ada');
  });

  it('prints the key once, for 30 days, and keeps only its hash', async () => {
    const { status, out } = await run('key', 'loader');
    const [key = '', said] = out.split('\n');
    const { prefix, secret } = readApiKey(key) ?? {};
    const [row] = await site.sql<{ row: string; created_by: string; created_at: Date; expires_at: Date }>(
      'select k::text as row, created_by, created_at, expires_at from api_key k where prefix = $1 and project_id is null',
      [prefix],
    );
    const term = Number(row?.expires_at) - Number(row?.created_at);
    expect([status, term, row?.created_by]).toEqual([0, 30 * DAY_MS, expect.stringMatching(/^command:./)]);
    expect(said).toBe(
      `The key of key:loader for every project, until ${row?.expires_at.toISOString()}. It is shown only this once and not stored: save it now.`,
    );
    expect(out.split(String(secret))).toHaveLength(2);
    expect(row?.row).not.toContain(secret);
  });

  it.each(['1', '400'])('lives %s days on request', async (days) => {
    const { prefix } = readApiKey(await keyOf(`days${days}`, '--days', days)) ?? {};
    const [row] = await site.sql<{ term: string }>(
      `select extract(epoch from expires_at - created_at)::int as term from api_key where prefix = $1`,
      [prefix],
    );
    expect(row?.term).toBe((Number(days) * DAY_MS) / 1000);
  });

  it('makes projects, members and keys in each, reads all, and signs nothing', async () => {
    await ada.put('/v1/projects/OLD', PROJECT);
    const key = await keyOf('installer');
    const machine = site.bearing(key);
    expect((await machine.put('/v1/projects/NEW', PROJECT)).status).toBeLessThan(300);
    for (const project of ['OLD', 'NEW']) {
      const members = `/v1/projects/${project}/members`;
      expect((await machine.get(`/v1/projects/${project}`)).status).toBe(200);
      expect((await machine.put(`${members}/eva`, { roles: ['viewer'] })).status).toBeLessThan(300);
      expect((await machine.get(members)).body).toEqual([{ subject: 'eva', roles: ['viewer'], party: null }]);
      const input = { name: 'logger', scopes: ['record.read'] };
      const made = await machine.post(`/v1/projects/${project}/api-keys`, input);
      expect([made.status, made.body.createdBy]).toEqual([201, 'key:installer']);
      const shift = `/v1/projects/${project}/drives/N/shifts/2027-03-01/day`;
      for (const act of ['countersign', 'reopen'])
        expect((await machine.post(`${shift}/${act}`, { reason: 'none' })).status).toBe(403);
      // the project does not list its key
      const keys = (await machine.get(`/v1/projects/${project}/api-keys`)).body as { name: string }[];
      expect(keys.map(({ name }) => name)).toEqual(['logger']);
    }
    const [last] = await site.sql(
      `select actor, credential from history.change c join project p on p.id = c.project_id
       where p.code = 'NEW' and 'member' = any (tables)`,
    );
    expect(last).toEqual({ actor: 'key:installer', credential: `key ${readApiKey(key)?.prefix}` });
  });

  it('ends within 2 s of revoke, which no project can do', async () => {
    await ada.put('/v1/projects/P1', PROJECT);
    const key = await keyOf('brief');
    const { prefix = '' } = readApiKey(key) ?? {};
    const machine = site.bearing(key);
    expect((await machine.get('/v1/projects/P1')).status).toBe(200);
    expect((await ada.delete(`/v1/projects/P1/api-keys/${prefix}`)).status).toBe(404);
    const { status, out } = await run('revoke', prefix);
    expect([status, out]).toEqual([0, `The key ${prefix} is revoked.\n`]);
    expect((await untilAnswered(() => machine.get('/v1/projects/P1'), 401)).status).toBe(401);
  });

  it('is not revoked by it when it is a project’s, or when there is none', async () => {
    await ada.put('/v1/projects/P1', PROJECT);
    const input = { name: 'own', scopes: ['record.read'] };
    const { prefix } = (await ada.post('/v1/projects/P1/api-keys', input)).body as { prefix: string };
    for (const none of [prefix, 'abcdefgh23']) {
      const { status, err } = await run('revoke', none);
      expect([status, err]).toEqual([1, `There is no key ${none} of the whole installation.\n`]);
    }
    expect(
      (await site.sql('select from api_key where prefix = $1 and revoked_at is null', [prefix])).length,
    ).toBe(1);
  });

  it('is refused as the third live one of its name', async () => {
    const keys = [await keyOf('turn'), await keyOf('turn')];
    const { status, out, err } = await run('key', 'turn');
    expect([status, out, err]).toEqual([1, '', 'turn has two live keys already: revoke one first\n']);
    await run('revoke', readApiKey(keys[0] ?? '')?.prefix ?? '');
    expect((await run('key', 'turn')).status).toBe(0);
  });

  it('is refused without the pepper of the service', async () => {
    set({ DATABASE_URL: site.url });
    const { status, out, err } = await run('key', 'nopepper');
    expect([status, out, err]).toEqual([
      1,
      '',
      'A key needs the pepper of the service: set API_KEY_PEPPER.\n',
    ]);
    expect(await site.sql(`select from api_key where name = 'nopepper'`)).toEqual([]);
  });

  it('made with another pepper is no key of the service', async () => {
    set({ DATABASE_URL: site.url, API_KEY_PEPPER: `${PEPPER} but another` });
    expect((await site.bearing(await keyOf('stranger')).get('/v1/projects')).status).toBe(401);
  });
});

it('each action of drivebook administrator answers as JSON', async () => {
  const answer = async (...args: string[]): Promise<unknown> =>
    JSON.parse((await run(...args, '--json')).out) as unknown;
  const instant = expect.stringMatching(/^\d{4}-\d\d-\d\dT[\d:.]+Z$/) as string;
  expect(await answer('add', 'ada')).toEqual({ subject: 'ada', added: true });
  expect(await answer('add', 'ada')).toEqual({ subject: 'ada', added: false });
  const made = (await answer('key', 'json')) as { prefix: string; key: string };
  expect(made).toEqual({
    name: 'json',
    prefix: readApiKey(made.key)?.prefix,
    key: made.key,
    expiresAt: instant,
  });
  const { prefix } = made;
  expect(await answer('list')).toEqual({
    administrators: [{ subject: 'ada', addedAt: instant }],
    keys: expect.arrayContaining([
      { name: 'json', prefix, createdBy: expect.stringMatching(/^command:./), expiresAt: instant },
    ]),
  });
  expect(await answer('revoke', prefix)).toEqual({ revoked: prefix });
  expect(await answer('remove', 'ada')).toEqual({ removed: 'ada' });
});

describe('drivebook administrator does not understand', () => {
  it.each([
    ['nothing', [], 'Usage: drivebook administrator'],
    ['another action', ['grant', 'x'], "unknown command 'grant'"],
    ['an action of an object', ['constructor', 'x'], "unknown command 'constructor'"],
    ['add of nobody', ['add'], "missing required argument 'subject'"],
    ['add of an empty subject', ['add', ''], 'It must be 1 to 255 characters'],
    ['add of the user of local mode', ['add', 'local'], 'It must be 1 to 255 characters'],
    ['add of a key', ['add', 'key:x'], 'It must be 1 to 255 characters'],
    ['add of a long one', ['add', 'x'.repeat(256)], 'It must be 1 to 255 characters'],
    ['add of two', ['add', 'a', 'b'], 'too many arguments'],
    ['list of one', ['list', 'a'], 'too many arguments'],
    ['a key without a name', ['key'], "missing required argument 'name'"],
    ['a key with an invalid name', ['key', 'a b'], 'It must be 1 to 40 letters'],
    ['no day', ['key', 'k', '--days', '0'], 'It must be a whole number from 1 to 400.'],
    ['too many days', ['key', 'k', '--days', '401'], 'It must be a whole number from 1 to 400.'],
    ['half a day', ['key', 'k', '--days', '0.5'], 'It must be a whole number from 1 to 400.'],
    ['days of a person', ['add', 'a', '--days', '3'], "unknown option '--days'"],
    ['another option', ['list', '--all'], '--all'],
  ])('%s', async (_, args, said) => {
    const { status, out, err } = await run(...args);
    expect([status, out, err]).toEqual([2, '', expect.stringContaining(said)]);
    expect(err).toMatch(/Usage: drivebook administrator|Add --help for the usage/);
    expect(await site.sql('select from administrator')).toEqual([]);
  });
});
