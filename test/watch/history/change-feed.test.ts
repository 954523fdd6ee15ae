import type { AddressInfo } from 'node:net';
import pg from 'pg';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { createApp } from '../../../src/app.js';
import { loadConfig } from '../../../src/common/config/config.js';
import { ChangeKind } from '../../../src/features/watch/history/history.models.js';
import { type Caller, OWNER, type Site, startSite } from '../../access/site.js';
import { until } from '../../harness/until.js';
import { type Following, followEvents } from './events.js';

// The changes of a project, followed by number: none lost and none repeated, whoever writes and whatever breaks.

interface Change {
  number: number;
  kinds: string[];
  drives: string[];
  tables: string[];
}

const CHANGES = '/v1/projects/MINE/changes';

let site: Site;
let owner: Caller;
let anna: Caller;
const followed: Following[] = [];
const others: NestFastifyApplication[] = [];

beforeAll(async () => {
  site = await startSite({ WS_PING_S: '1', WS_CONNECTIONS_PER_CALLER: '4' });
  owner = await site.as(OWNER);
  for (const project of ['MINE', 'THEIRS']) await site.project(project);
  for (const drive of ['N', 'S']) await put(`/drives/${drive}`, DRIVE);
  await put('/members/anna', { roles: ['engineer'] });
  anna = await site.as('anna');
  await put('/members/vera', { roles: ['viewer'] });
  await put('/members/quentin', { roles: ['qs'] });
});

afterEach(async () => {
  for (const each of followed.splice(0)) {
    each.leave();
    await each.over;
  }
  for (const other of others.splice(0)) await other.close();
});

afterAll(() => site.close());

const DRIVE = {
  name: 'Trial',
  startChainage: '1+200',
  endChainage: '2+200',
  direction: 1,
  boredDiameterM: '7',
};

const put = async (path: string, body: object, by = owner): Promise<void> => {
  const { status, text } = await by.put(`/v1/projects/MINE${path}`, body);
  expect([text, status < 300]).toEqual([text, true]);
};

let written = 0;

/** Writes a record of the project as a whole. */
const write = async (): Promise<void> => {
  written += 1;
  await put('/ground-classes/A', { description: `change ${written}` });
};

const hole = (drive: string, name: string): Promise<void> =>
  put(`/drives/${drive}/probe-holes/${name}`, { collar: '1+201', lookOutDeg: '5', lengthM: '30' }, anna);

const page = async (search = ''): Promise<Change[]> => {
  const { status, body, text } = await owner.get(`${CHANGES}?first=1000${search}`);
  expect([text, status]).toEqual([text, 200]);
  return (body as { items: Change[] }).items;
};

const newest = async (): Promise<number> =>
  ((await owner.get(`${CHANGES}/head`)).body as { number: number }).number;

const portOf = (app: NestFastifyApplication): number => (app.getHttpServer().address() as AddressInfo).port;

const follow = async (
  search = '',
  {
    headers = {},
    app = site.app,
    subject = OWNER,
    credential,
  }: {
    headers?: Record<string, string>;
    app?: NestFastifyApplication;
    subject?: string;
    credential?: string;
  } = {},
): Promise<Following> => {
  const authorization = `Bearer ${credential ?? (await site.token(subject))}`;
  const following = await followEvents(`http://127.0.0.1:${portOf(app)}${CHANGES}${search}`, {
    authorization,
    ...headers,
  });
  followed.push(following);
  return following;
};

const numbersOf = ({ events }: Pick<Following, 'events'>): number[] =>
  events.map(({ data }) => (JSON.parse(data) as Change).number);

/** Waits until it follows: the first lines have arrived. */
const underWay = (following: Following): Promise<void> => until(() => following.retryMs !== undefined);

const counted = (from: number, to: number): number[] =>
  Array.from({ length: to - from + 1 }, (_, index) => from + index);

describe('a page of changes', () => {
  it('is of one drive, or of one part of the record', async () => {
    await hole('N', 'H1');
    await hole('S', 'H2');
    await write();
    const all = await page();
    const [atN, atS, ofProject] = all.slice(-3);
    expect(atN).toMatchObject({ drives: ['N'], kinds: ['probing'], tables: ['probe_hole'] });
    expect(atS).toMatchObject({ drives: ['S'], kinds: ['probing'] });
    expect(ofProject).toMatchObject({ drives: [], kinds: ['catalogue'] });
    expect(await page('&drive=N')).toEqual(all.filter(({ drives }) => drives.includes('N')));
    expect(await page('&kind=probing')).toEqual(all.filter(({ kinds }) => kinds.includes('probing')));
    expect(await page('&kind=probing&drive=S')).toEqual([atS]);
    const query = `{ changes(project: "MINE", drive: "S", kind: probing) { nodes { number kinds drives } } }`;
    expect((await owner.graphql(query)).body).toMatchObject({
      data: { changes: { nodes: [{ number: atS?.number, kinds: ['probing'], drives: ['S'] }] } },
    });
  });

  it.each([
    ['drive=X', 422, '/drive'],
    ['kind=weather', 422, '/kind'],
    ['after=999999', 409, undefined],
  ])('is refused for %s', async (search, status, pointer) => {
    const answer = await owner.get(`${CHANGES}?${search}`);
    expect([answer.status, answer.body.errors?.[0]?.pointer]).toEqual([status, pointer]);
  });

  it('can be read as of a moment', async () => {
    const [first, second] = await page();
    const { madeAt } = second as Change & { madeAt: string };
    expect(await page(`&asOf=${encodeURIComponent(madeAt)}`)).toEqual([first, second]);
  });

  it('knows every table, and every kind', async () => {
    const rows = await site.sql<{ table_name: string; kind: string }>('select * from report.change_kind()');
    const kept = await site.sql<{ name: string }>('select history.kept_tables() as name');
    expect(rows.map((row) => row.table_name).sort()).toEqual(kept.map(({ name }) => name).sort());
    expect([...new Set(rows.map(({ kind }) => kind))].sort()).toEqual(Object.values(ChangeKind).sort());
  });
});

describe('an event stream', () => {
  it('has the format of WHATWG HTML: id, data, retry, comments', async () => {
    const last = await newest();
    const following = await follow(`?after=${last - 1}`);
    await until(() => following.comments.length > 0);
    const { statusCode, headers } = following.answer;
    expect([statusCode, headers['content-type'], headers['cache-control']]).toEqual([
      200,
      'text/event-stream',
      'no-store',
    ]);
    expect(following.retryMs).toBe(3000);
    expect(following.events).toEqual([
      { type: 'message', data: expect.any(String), lastEventId: String(last) },
    ]);
    expect(JSON.parse(following.events[0]?.data ?? '')).toEqual((await page(`&after=${last - 1}`))[0]);
  });

  it('has everything after a number and then new changes, once each; without a number only new ones', async () => {
    const before = await newest();
    const whole = await follow('?after=0');
    const now = await follow();
    await Promise.all([underWay(whole), underWay(now)]);
    for (let i = 0; i < 5; i += 1) await write();
    await until(() => whole.events.length >= before + 5 && now.events.length >= 5);
    expect(numbersOf(whole)).toEqual(counted(1, before + 5));
    expect(numbersOf(now)).toEqual(counted(before + 1, before + 5));
  });

  it('loses and repeats nothing for a reader that disconnects and returns, while many write', async () => {
    const before = await newest();
    const received: number[] = [];
    let lastEventId = String(before);
    let isWritten = false;
    const writing = Promise.all(
      counted(1, 4).map(async (writer) => {
        for (let i = 0; i < 10; i += 1) await hole(writer % 2 ? 'N' : 'S', `W${writer}-${i}`);
      }),
    ).finally(() => (isWritten = true));
    for (let last = 0; !isWritten || last < before + 40;) {
      const following = await follow('', { headers: { 'last-event-id': lastEventId } });
      const most = 1 + (received.length % 7);
      await until(() => following.events.length >= most || (isWritten && following.comments.length > 0));
      following.leave();
      await following.over;
      received.push(...numbersOf(following));
      if (following.lastEventId !== '') ({ lastEventId } = following);
      last = received.at(-1) ?? 0;
    }
    await writing;
    expect(received).toEqual(counted(before + 1, before + 40));
  });

  it('has simultaneous writes in the order of their numbers, which is that of their commits', async () => {
    const before = await newest();
    const following = await follow();
    await underWay(following);
    const [first, second] = [new pg.Client(site.url), new pg.Client(site.url)];
    await Promise.all([first.connect(), second.connect()]);
    const insert = (code: string): string => `insert into equipment (project_id, code, description)
      select id, '${code}', 'x' from project where code = 'MINE'`;
    try {
      await second.query('begin; select 1'); // begins first, writes last
      await first.query('begin');
      await first.query(insert('E1'));
      const written = second.query(insert('E2'));
      // The second gets no number before the first is committed: it waits for the lock of the history.
      await until(
        async () =>
          (await site.sql(`select from pg_locks where locktype = 'advisory' and not granted`)).length === 1,
      );
      expect(await newest()).toBe(before);
      await first.query('commit');
      await written;
      await until(() => following.events.length === 1);
      await second.query('commit');
      await until(() => following.events.length === 2);
    } finally {
      await Promise.all([first.end(), second.end()]);
    }
    expect(numbersOf(following)).toEqual([before + 1, before + 2]);
    const { body } = await owner.get(`${CHANGES}/${before + 1}/rows`);
    expect(body).toMatchObject({ items: [{ after: { code: 'E1' } }] });
  });

  it('reports what another instance wrote, and ends when its own stops', async () => {
    const other = await createApp({
      ...loadConfig({ RATE_LIMIT_PER_MINUTE: '0', LOG_LEVEL: 'silent' }),
      databaseUrl: site.url,
    });
    await other.listen(0, '127.0.0.1');
    let isClosed = false;
    try {
      const before = await newest();
      // the other instance runs without login, so without tokens
      const following = await followEvents(`http://127.0.0.1:${portOf(other)}${CHANGES}`);
      followed.push(following);
      await underWay(following);
      await write();
      await until(() => following.events.length === 1);
      expect(numbersOf(following)).toEqual([before + 1]);
      const closed = other.close().then(() => (isClosed = true));
      await following.over;
      expect(following.answer.complete).toBe(true); // ended properly
      await closed;
    } finally {
      if (!isClosed) await other.close();
    }
  });

  it('of one drive skips everything else, and resumes after it', async () => {
    const following = await follow('?drive=S');
    await underWay(following);
    await hole('N', 'H9');
    await write();
    await until(async () => following.lastEventId === String(await newest()));
    expect(following.events).toEqual([]);
    await hole('S', 'H9');
    await until(() => following.events.length > 0);
    expect(numbersOf(following)).toEqual([await newest()]);
  });

  it.each([
    ['after its end', '?after=999999', {}, 409, undefined],
    ['of an id that is not a number', '', { 'last-event-id': '1e3' }, 422, '/Last-Event-ID'],
    ['of a page', '?first=10', {}, 422, '/first'],
    ['of the past', '?asOf=2027-03-01T06:00:00Z', {}, 422, '/asOf'],
    ['of a drive that does not exist', '?drive=X', {}, 422, '/drive'],
  ])('is refused %s', async (_, search, headers, status, pointer) => {
    const { answer } = await follow(search, {
      headers: { accept: 'application/json;q=0.1, text/event-stream', ...headers },
    });
    const { status: code, body } = await owner
      .get(`${CHANGES}${search}`)
      .set('accept', 'text/event-stream')
      .set(headers);
    expect([answer.statusCode, code, body.errors?.[0]?.pointer]).toEqual([status, status, pointer]);
    expect(answer.headers['content-type']).toContain('application/problem+json');
  });

  it('needs the permission to read the history of the project', async () => {
    expect((await follow('', { subject: 'vera' })).answer.statusCode).toBe(403);
    expect((await follow('', { subject: 'stranger' })).answer.statusCode).toBe(404);
    expect((await follow('', { credential: 'nonsense' })).answer.statusCode).toBe(401);
    const following = await follow('?after=0', { subject: 'quentin' });
    expect((await owner.put('/v1/projects/THEIRS/ground-classes/A', { description: 'x' })).status).toBe(201);
    await write();
    const last = await newest();
    await until(() => following.lastEventId === String(last));
    expect(numbersOf(following)).toEqual(counted(1, last));
  });

  it('ends when the credential or the permission does, and says so, even while nothing happens', async () => {
    const { body } = await owner.post('/v1/projects/MINE/api-keys', {
      name: 'lake',
      scopes: ['history.read'],
    });
    const { key, prefix } = body as { key: string; prefix: string };
    const byKey = await follow('', { credential: key });
    const byRole = await follow('', { subject: 'quentin' });
    await Promise.all([underWay(byKey), underWay(byRole)]);
    expect((await owner.delete(`/v1/projects/MINE/api-keys/${prefix}`)).status).toBe(204);
    await byKey.over;
    await put('/members/quentin', { roles: ['viewer'] });
    await byRole.over;
    const last = [byKey, byRole].map(({ events }) => events.at(-1));
    expect(last.map((event) => event?.type)).toEqual(['problem', 'problem']);
    expect(last.map((event) => JSON.parse(event?.data ?? '').status)).toEqual([401, 403]);
    expect([byKey, byRole].map(({ answer }) => answer.complete)).toEqual([true, true]);
    await put('/members/quentin', { roles: ['qs'] });
  });

  it('counts as a connection of its caller until it ends', async () => {
    const four = await Promise.all(counted(1, 4).map(() => follow()));
    expect(four.map(({ answer }) => answer.statusCode)).toEqual([200, 200, 200, 200]);
    expect((await follow()).answer.statusCode).toBe(429);
    four[0]?.leave();
    await until(async () => {
      const { statusCode } = (await follow()).answer;
      return statusCode === 200;
    });
  });

  it('is not opened by HEAD', async () => {
    const { status, headers } = await site.http
      .head(CHANGES)
      .set('authorization', `Bearer ${await site.token(OWNER)}`)
      .set('accept', 'text/event-stream');
    expect([status, headers['content-type']]).toEqual([200, 'text/event-stream']);
  });
});
