import { createHmac } from 'node:crypto';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { PEPPER, startApp, type TestApp } from '../../harness/app.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import { csv, upload } from '../../driving/strokes/tables.js';
import { type Change, drivesOf, type RowChange } from './changes.js';
import { laterWrites, type Send, type Write } from './writes.js';

// Every write to the record is one entry in its project's history, reported by the API and protected from everybody.

const [PREFIX, SECRET] = ['loaderkey2', 'k'.repeat(43)];
const BASE = '/v1/projects/P1';
const HISTORY = `${BASE}/changes`;
const SHIFT = `${BASE}/drives/N/shifts/2027-03-01/day`;
const REASON = 'Überprüft – Maß №7, 測量';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.sql(
    `insert into api_key (project_id, name, prefix, hash, scopes, created_by, expires_at)
     select id, 'loader', $1, $2, '{record.read,strokes.import}', 'office', now() + interval '1 day' from project where code = 'P1'`,
    [PREFIX, createHmac('sha256', PEPPER).update(SECRET).digest()],
  );
});

afterAll(async () => {
  await app.close();
});

const changes = async (after = 0, url = HISTORY): Promise<Change[]> =>
  (await app.http.get(`${url}?first=1000&after=${after}`)).body.items;

const head = async (): Promise<number> => (await app.http.get(`${HISTORY}/head`)).body.number;

const rowChanges = async (number: number): Promise<RowChange[]> =>
  (await app.http.get(`${HISTORY}/${number}/rows?first=1000`)).body.items;

/** The entries made by the work. */
const madeBy = async (work: () => PromiseLike<unknown>): Promise<Change[]> => {
  const before = await head();
  await work();
  return changes(before);
};

const document = (quantity = '8') =>
  aShift()
    .withStroke(1, '1+200', '1+201.7', '06:00', '06:40', {
      thrustKn: 9000,
      torqueKnm: 900,
      rotationRpm: 6,
      penetrationMmPerRev: 8,
    })
    .withActivity('BORE', '06:00', '06:40')
    .withSupport('BOLT', '1+200', '1+201.7', quantity)
    .withGround('A', '1+200', '1+201.7')
    .build();

const etag = async (): Promise<string> => (await app.http.get(SHIFT)).headers['etag'] ?? '';

/** Headers of every write. */
let said: Record<string, string> = {};

const rest =
  (path: string, body: object): Send =>
  () =>
    app.http.put(`${BASE}${path}`).set(said).send(body);

const mutation =
  (text: string, variables?: object): Send =>
  () =>
    app.http
      .post('/graphql')
      .set(said)
      .send({ query: `mutation ${text}`, variables });

const NAMED = '$date: Date = "2027-03-01", $project: String = "P1"';
const AT = 'project: $project, drive: "N", date: $date, shift: "day"';

const project = { name: 'Trial 2', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };
const hole = { collar: '1+201', lookOutDeg: '5', lengthM: '30' };
const machine = { name: 'Machine 2', discCount: 50, discRadiusMm: '241.3' };
const drive = {
  name: 'Drive 2',
  startChainage: '1+200',
  endChainage: '2+200',
  direction: 1,
  boredDiameterM: '7',
  machine: 'M1',
};
const ALL_OF_A_SHIFT = ['activity', 'boring', 'ground_interval', 'shift', 'support_installed'];

// in this order: each builds on those before it
const WRITES: Write[] = [
  ['a project', rest('', project), ['project']],
  [
    'a calendar shift',
    rest('/calendar-shifts/day', { startTime: '06:00', endTime: '18:00', weekdays: [1, 2] }),
    ['calendar_shift'],
  ],
  [
    'an activity code',
    rest('/activity-codes/WAIT', { description: 'Waiting', countsAs: 'waiting' }),
    ['activity_code'],
  ],
  ['a ground class', rest('/ground-classes/C', { description: 'Poor' }), ['ground_class']],
  [
    'a support item',
    rest('/support-items/ARCH', { kind: 'rib', unit: 'nr', description: 'Arch' }),
    ['support_item'],
  ],
  ['a drive', rest('/drives/N', drive), ['drive']],
  ['a machine', rest('/machines/M1', machine), ['machine']],
  ['a probe hole', rest('/drives/N/probe-holes/H1', hole), ['probe_hole']],
  ['a shift', () => app.http.put(SHIFT).set(said).send(document()), ALL_OF_A_SHIFT],
  [
    'a shift in place of another',
    async () =>
      app.http
        .put(SHIFT)
        .set(said)
        .set('If-Match', await etag())
        .send(document('9')),
    ALL_OF_A_SHIFT,
  ],
  [
    'a machine whose strokes follow it',
    rest('/machines/M1', { ...machine, frictionKn: '100' }),
    ['boring', 'machine'],
  ],
  [
    'a drive whose strokes follow it',
    rest('/drives/N', { ...drive, boredDiameterM: '8' }),
    ['boring', 'drive'],
  ],
  [
    'a shift removed',
    async () =>
      app.http
        .delete(SHIFT)
        .set(said)
        .set('If-Match', await etag()),
    ALL_OF_A_SHIFT,
  ],
  [
    'a ground class by GraphQL',
    mutation(`{ putGroundClass(project: "P1", code: "C", input: { description: "Very poor" }) { code } }`),
    ['ground_class'],
  ],
  [
    'a probe hole by GraphQL',
    mutation(
      `{ putProbeHole(project: "P1", drive: "N", name: "H2", input: { collar: "1+202", lookOutDeg: "5", lengthM: "30" }) { name } }`,
    ),
    ['probe_hole'],
  ],
  [
    'a shift by GraphQL',
    mutation(`(${NAMED}, $document: ShiftDocumentInput!) { putShift(${AT}, document: $document) { etag } }`, {
      document: document(),
    }),
    ALL_OF_A_SHIFT,
  ],
  [
    'a shift removed by GraphQL',
    async () =>
      mutation(`(${NAMED}, $ifMatch: String!) { removeShift(${AT}, ifMatch: $ifMatch) }`, {
        ifMatch: await etag(),
      })(),
    ALL_OF_A_SHIFT,
  ],
  ...laterWrites(rest, (path) => app.http.post(`${BASE}${path}`).set(said)),
];

/** An entry without its number, moment and hash. */
const summaryOf = ({ actor, credential, reason, requestId, tables }: Change) => ({
  actor,
  credential,
  reason,
  requestId,
  tables: tables.toSorted(),
});

describe('a write', () => {
  afterEach(() => (said = {}));

  it.each(WRITES)(
    'of %s is one entry: who, why, in which request, and to what; sent again, none',
    async (name, send, tables) => {
      const requestId = `request-of-${name.replaceAll(' ', '-')}`;
      said = { 'X-Request-Id': requestId, 'X-Reason': encodeURIComponent(REASON) };
      const made = await madeBy(async () => {
        const { status, body } = await send();
        expect([Math.floor(status / 100), body.errors]).toEqual([2, undefined]);
      });
      expect(made.map(summaryOf)).toEqual([
        { actor: 'local', credential: 'local', reason: REASON, requestId, tables },
      ]);
      expect(await madeBy(send)).toEqual([]);
    },
  );

  it('of a table of strokes by a key is one entry, of that key', async () => {
    said = { Authorization: `Bearer dbk_${PREFIX}_${SECRET}`, 'X-Request-Id': 'request-of-a-table' };
    const made = await madeBy(async () => {
      expect((await upload(app).set(said)).body).toMatchObject({ created: 3 });
    });
    const key = { actor: 'key:loader', credential: `key ${PREFIX}`, requestId: 'request-of-a-table' };
    expect(made.map(summaryOf)).toEqual([{ ...key, reason: null, tables: ['boring'] }]);
  });

  it('of a member by SQL is one entry, by the person whom the transaction names', async () => {
    const service = await serviceSession(app.url);
    const made = await madeBy(async () => {
      await service.query(`begin; select set_config('drivebook.project', id::text, true), set_config('drivebook.actor', 'anna', true),
        set_config('drivebook.reason', 'new on site', true) from project_access('', 'P1') as a(id, roles, administrator);
        insert into member (project_id, subject, role) values (scope_project(), 'boris', 'engineer'), (scope_project(), 'clara', 'qs');
        delete from member where subject = 'clara'; commit`);
    });
    await service.end();
    const expected = { actor: 'anna', credential: null, reason: 'new on site', requestId: null };
    expect(made.map(summaryOf)).toEqual([{ ...expected, tables: ['member'] }]);
    const rows = await rowChanges(made[0]?.number ?? 0);
    expect(rows).toMatchObject([{ table: 'member', before: null, after: { subject: 'boris' } }]);
  });

  it('without a request id or a reason has its own id and no reason', async () => {
    const [made] = await madeBy(rest('/ground-classes/D', { description: 'Bad' }));
    expect(made).toMatchObject({ requestId: expect.stringMatching(/^[0-9a-f-]{36}$/), reason: null });
  });

  it.each([
    ['several in one request', ['E', 'F', 'G'], 3],
    ['one that fails among others', ['H', 'toolong'.repeat(20)], 1],
  ])('is one entry each of %s', async (_, codes, count) => {
    const fields = codes.map(
      (code, index) =>
        `m${index}: putGroundClass(project: "P1", code: "${code}", input: { description: "x" }) { code }`,
    );
    const made = await madeBy(mutation(`{ ${fields.join(' ')} }`));
    expect(made.map(({ tables }) => tables)).toEqual(Array(count).fill(['ground_class']));
    expect(new Set(made.map(({ requestId }) => requestId)).size).toBe(1);
  });

  it('at the same moment as others is one entry each, one after the other', async () => {
    const names = Array.from({ length: 12 }, (_, index) => `P${index}`);
    const before = await head();
    const made = await madeBy(() =>
      Promise.all(names.map((name) => rest(`/drives/N/probe-holes/${name}`, hole)())),
    );
    expect(made.map(({ number }) => number)).toEqual(names.map((_, index) => before + 1 + index));
    const moments = made.map(({ madeAt }) => Date.parse(madeAt));
    expect(moments).toEqual([...new Set(moments)].toSorted((a, b) => a - b));
  });

  it('of a new project begins its own history', async () => {
    await app.http.put('/v1/projects/P2').send(project);
    const own = await changes(0, '/v1/projects/P2/changes');
    expect(own.map(({ number, tables }) => ({ number, tables }))).toEqual([
      { number: 1, tables: ['working_zone', 'project'] }, // with its initial zones
    ]);
  });
});

describe('no entry', () => {
  const OTHER = SHIFT.replace('01/day', '02/day');
  const because =
    (reason: string): Send =>
    () =>
      app.http.put(`${BASE}/ground-classes/X`).set('X-Reason', reason).send({ description: 'x' });
  const more = aShift('2027-03-02').withActivity('BORE', '06:00', '07:00').build();

  beforeAll(async () => {
    await app.http.put(OTHER).send(aShift('2027-03-02').build());
  });

  const REFUSED: [string, number, Send][] = [
    ['an invalid one', 422, rest('/ground-classes/X', { description: 7 })],
    ['an unknown time zone', 422, rest('', { ...project, timeZone: 'Nowhere/Land' })],
    ['one of no drive', 404, rest('/drives/NONE/probe-holes/H1', hole)],
    [
      'one that a rule of the database refuses',
      409,
      rest('/drives/N', { ...drive, direction: -1, endChainage: '0+100' }),
    ],
    ['metres twice', 409, () => app.http.put(SHIFT).send(document())],
    ['a shift without the version it replaces', 428, () => app.http.put(OTHER).send(more)],
    ['a stale version', 412, () => app.http.put(SHIFT).set('If-Match', '"x"').send(document())],
    ['a table with a bad row', 422, () => upload(app, { file: csv(['9,50,51,', '10,51,x,']) })],
    ['a dry run', 200, () => upload(app, { file: csv(['9,50,51,']), fields: { dryRun: 'true' } })],
    ['a reason that cannot be read', 422, because('%E0%A4%A')],
    ['a reason that is too long', 422, because('x'.repeat(501))],
  ];

  it.each(REFUSED)('is made by %s: %i', async (_, status, send) => {
    const before = await app.contents();
    const made = await madeBy(async () => expect((await send()).status).toBe(status));
    expect(made).toEqual([]);
    expect(await app.contents()).toBe(before);
  });
});

describe('the effect of a change', () => {
  const description = (text: string): Send => rest('/ground-classes/Z', { description: text });

  it('is reported row by row, before and after', async () => {
    const [came] = await madeBy(description('first'));
    const [changed] = await madeBy(description('second'));
    const [key] = await app.sql<{ id: number }>(`select id, project_id from ground_class where code = 'Z'`);
    const [went] = await madeBy(() => app.sql(`delete from ground_class where code = 'Z'`));
    const firstRow = async (change?: Change) => (await rowChanges(change?.number ?? 0))[0];
    const empty = { density_t_per_m3: null, swell_percent: null };
    const row = (text: string) => ({ ...key, ...empty, code: 'Z', description: text });
    const line = { line: 1, table: 'ground_class', id: key?.id };
    expect(await firstRow(came)).toEqual({ ...line, before: null, after: row('first') });
    expect(await firstRow(changed)).toEqual({ ...line, before: row('first'), after: row('second') });
    expect(await firstRow(went)).toEqual({ ...line, before: row('second'), after: null });
  });

  it('is reported a page at a time, the tables by name and the rows by id', async () => {
    const [made] = await madeBy(() =>
      app.http
        .put(SHIFT.replace('01/day', '03/day'))
        .send(
          aShift('2027-03-03')
            .withActivity('MAINT', '06:00', '07:00')
            .withActivity('MAINT', '07:00', '08:00')
            .withActivity('MAINT', '08:00', '09:00')
            .withGround('A', '1+300', '1+301')
            .build(),
        ),
    );
    const url = `${HISTORY}/${made?.number}/rows`;
    const whole = await rowChanges(made?.number ?? 0);
    const tables = ['activity', 'activity', 'activity', 'ground_interval', 'shift'];
    expect(whole.map(({ line, table }) => [line, table])).toEqual(tables.map((table, i) => [i + 1, table]));
    const pages = [
      (await app.http.get(`${url}?first=2`)).body,
      (await app.http.get(`${url}?first=2&after=2`)).body,
      (await app.http.get(`${url}?first=2&after=4`)).body,
    ];
    expect(pages).toEqual([
      { items: whole.slice(0, 2), next: 2 },
      { items: whole.slice(2, 4), next: 4 },
      { items: whole.slice(4), next: null },
    ]);
  });

  it('never reports the hash of a key', async () => {
    const [key] = await app.sql<{ n: number }>(`select from_change::int as n from history.api_key`);
    const rows = await rowChanges(key?.n ?? 0);
    expect(rows).toMatchObject([{ table: 'api_key', after: { prefix: PREFIX } }]);
    expect(rows[0]?.after).not.toHaveProperty('hash');
  });

  it('is not found for an unknown change, or one of another project', async () => {
    for (const url of [`${HISTORY}/99999`, `${HISTORY}/99999/rows`, '/v1/projects/P2/changes/2'])
      expect((await app.http.get(url)).status).toBe(404);
  });
});

describe('the history', () => {
  it('names the drives whose rows each change wrote', async () => {
    const drives = await app.sql<{ id: number; code: string }>('select id, code from drive');
    const found = await changes();
    const expected: string[][] = [];
    for (const { number } of found) expected.push(drivesOf(await rowChanges(number), drives));
    expect(found.map((change) => change.drives)).toEqual(expected);
    expect(new Set(expected.map(({ length }) => length)).size).toBeGreaterThan(1);
  });

  it('is read by pages, in the order of its numbers, to its head', async () => {
    const whole = await changes();
    expect(whole.map(({ number }) => number)).toEqual(whole.map((_, index) => index + 1));
    const read: Change[] = [];
    const sizes: number[] = [];
    for (let next: number | null = 0; next !== null;) {
      const { body } = await app.http.get(`${HISTORY}?first=20&after=${next}`);
      read.push(...body.items);
      sizes.push(body.items.length);
      next = body.next;
    }
    expect(read).toEqual(whole);
    expect(sizes.slice(0, -1)).toEqual(Array(sizes.length - 1).fill(20));
    const last = whole.at(-1);
    expect((await app.http.get(`${HISTORY}/head`)).body).toEqual({
      project: 'P1',
      number: last?.number,
      madeAt: last?.madeAt,
      hash: last?.hash,
    });
    expect((await app.http.get(`${HISTORY}/${last?.number}`)).body).toEqual(last);
  });

  it('is the same by GraphQL', async () => {
    const query = `{ changes(project: "P1", first: 2, after: "3") { nodes { number madeAt actor credential reason requestId tables kinds drives hash } pageInfo { hasNextPage endCursor } }
      historyHead(project: "P1") { project number madeAt hash }
      rowChanges(project: "P1", number: 4, first: 2, after: "0") { edges { cursor node { line table id before after } } } }`;
    const { data } = (await app.http.post('/graphql').send({ query })).body;
    const { items, next } = (await app.http.get(`${HISTORY}?first=2&after=3`)).body;
    const rows = (await app.http.get(`${HISTORY}/4/rows?first=2`)).body.items as { line: number }[];
    expect(data).toEqual({
      changes: { nodes: items, pageInfo: { hasNextPage: true, endCursor: String(next) } },
      historyHead: (await app.http.get(`${HISTORY}/head`)).body,
      rowChanges: { edges: rows.map((node) => ({ cursor: String(node.line), node })) },
    });
  });

  it('is protected: the service only reads it, and truncates no table unrecorded; nor does the owner', async () => {
    const service = await serviceSession(app.url);
    const [scope] = await app.sql<{ id: number }>(`select id from project where code = 'P1'`);
    const refused = async (sql: string): Promise<string> => (await refusalOf(service, scope?.id, sql)).state;
    const tables = await app.sql<{ name: string }>(
      `select relname as name from pg_class where relnamespace = 'history'::regnamespace and relkind = 'r' order by 1`,
    );
    expect(tables.length).toBeGreaterThan(15);
    for (const { name } of tables) {
      for (const sql of [
        `insert into history.${name} select * from history.${name}`,
        `update history.${name} set project_id = project_id`,
        `delete from history.${name}`,
        `truncate history.${name}`,
      ])
        expect([sql, await refused(sql)]).toEqual([sql, '42501']);
      if (name === 'change') continue;
      const emptied = `truncate public.${name} cascade`;
      expect([emptied, await refused(emptied)]).toEqual([emptied, '42501']);
      await expect(app.sql(emptied)).rejects.toMatchObject({ code: 'DB002', constraint: 'history_kept' });
    }
    await service.end();
  });
});
