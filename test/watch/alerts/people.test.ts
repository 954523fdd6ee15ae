import type { AddressInfo } from 'node:net';
import { type Client, createClient } from 'graphql-ws';
import WebSocket from 'ws';
import { type Caller, OWNER, type Site, startSite } from '../../access/site.js';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import type { Row } from './site.js';

// Who sets rules, who acknowledges, and who is notified. Anna is an engineer, paul posts shifts, vera views, olga owns the installation.

let site: Site;
const people: Record<string, Caller> = {};
const clients: Client[] = [];

const PROJECT = '/v1/projects/P1';
const DRIVE = `${PROJECT}/drives/N`;

const as = (who: string): Caller => {
  const caller = people[who];
  if (!caller) throw new Error(who);
  return caller;
};

let stroke = 0;
/** Bores one metre more; the face is that many metres beyond 1+200. */
const bore = async (who = 'paul'): Promise<void> => {
  stroke += 1;
  const date = `2027-03-${String(stroke).padStart(2, '0')}`;
  const body = aShift(date)
    .withStroke(stroke, `1+${199 + stroke}`, `1+${200 + stroke}`, '06:00', '07:00')
    .build();
  const { status, text } = await as(who).put(`${DRIVE}/shifts/${date}/day`, body);
  if (status !== 201) throw new Error(text);
};

/** A hold point half a metre ahead of the face. */
const hold = async (code: string): Promise<void> => {
  const body = { chainage: `1+${200 + stroke}.5`, reason: 'Fault', side: 'client' };
  expect((await as('anna').put(`${DRIVE}/hold-points/${code}`, body)).status).toBe(201);
};

const list = async (query = ''): Promise<Row[]> =>
  ((await as('vera').get(`${PROJECT}/alerts${query}`)).body as { items: Row[] }).items;

const newest = async (): Promise<Row> => (await list()).at(-1) ?? {};

beforeAll(async () => {
  site = await startSite();
  people.olga = await site.as(OWNER);
  const http = {
    put: (path: string) => ({ send: (body: object) => as('olga').put(path, body) }),
  };
  await aProject({ http } as never);
  for (const [who, role] of [
    ['anna', 'engineer'],
    ['paul', 'shift_poster'],
    ['vera', 'viewer'],
  ] as const) {
    expect((await as('olga').put(`${PROJECT}/members/${who}`, { roles: [role] })).status).toBeLessThan(300);
    people[who] = await site.as(who);
  }
});

afterEach(async () => {
  for (const client of clients.splice(0)) await client.dispose();
});

afterAll(() => site.close());

describe('an alert', () => {
  it('is acknowledged once, with a reason and the permission, and says who, when and why; it stays open', async () => {
    await hold('A');
    await bore();
    const { number, ...raised } = await newest();
    expect(raised).toMatchObject({ subject: 'A', state: 'open', raisedBy: 'paul', value: '0.500' });
    const path = `${PROJECT}/alerts/${String(number)}`;
    const acknowledge = (who: string, body: object) => as(who).post(`${path}/acknowledge`, body);
    expect((await acknowledge('vera', { reason: 'Seen' })).status).toBe(403);
    for (const [reason, detail] of [
      [undefined, /reason/],
      ['  ', /reason must be 1 to 500 characters/],
      ['\u200b', /reason must be 1 to 500 characters/],
      ['two\nlines', /reason must be 1 to 500 characters/],
    ] as const) {
      const { status, body } = await acknowledge('paul', { reason });
      expect([status, body.errors[0]]).toEqual([
        422,
        expect.objectContaining({ pointer: '/reason', detail: expect.stringMatching(detail) }),
      ]);
    }
    const { headers } = await as('paul').get(path);
    const stale = await as('paul')
      .post(`${path}/acknowledge`, { reason: 'Seen' })
      .set('if-match', '"another"');
    expect(stale.status).toBe(412);
    const taken = await as('paul')
      .post(`${path}/acknowledge`, { reason: ' Face stopped ' })
      .set('if-match', String(headers.etag));
    const acknowledged = {
      number,
      ...raised,
      acknowledgedAt: expect.any(String),
      acknowledgedBy: 'paul',
      acknowledgement: 'Face stopped',
    };
    expect([taken.status, taken.body]).toEqual([200, acknowledged]);
    const twice = await acknowledge('anna', { reason: 'Seen' });
    expect([twice.status, twice.body.type, twice.body.detail]).toEqual([
      409,
      expect.stringMatching(/wrong_state/),
      `alert ${String(number)} is acknowledged, by paul: an acknowledgement stays`,
    ]);
    expect((await as('anna').post(`${DRIVE}/hold-points/A/release`, { evidence: 'Core' })).status).toBe(200);
    expect((await as('vera').get(path)).body).toEqual({
      ...acknowledged,
      state: 'cleared',
      clearedAt: expect.any(String),
      clearedBy: 'anna',
      clearance: 'ended',
    });
    // as it stood when it was raised
    const before = await as('vera').get(`${path}?asOf=${String(raised.raisedAt).replace('+00:00', 'Z')}`);
    expect([404, 200]).toContain(before.status);
    const [change] = await site.sql<{ n: number }>(
      `select from_change::int as n from history.alert where number = $1 order by 1 limit 1`,
      [number],
    );
    const [made] = await site.sql<{ at: string }>(
      `select to_char(made_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as at from history.change where number = $1`,
      [change?.n],
    );
    expect((await as('vera').get(`${path}?asOf=${String(made?.at)}`)).body).toEqual({ number, ...raised });
  });

  it('that was cleared can still be acknowledged', async () => {
    await hold('B');
    await bore();
    await as('anna').post(`${DRIVE}/hold-points/B/release`, { evidence: 'Core' });
    const { number } = await newest();
    const query = `mutation { acknowledgeAlert(project: "P1", number: ${String(number)}, input: { reason: "Late" }) { state acknowledgedBy } }`;
    expect((await as('vera').graphql(query)).body.errors).toBeDefined();
    expect((await as('anna').graphql(query)).body).toEqual({
      data: { acknowledgeAlert: { state: 'cleared', acknowledgedBy: 'anna' } },
    });
  });

  it('is not found by another number', async () => {
    for (const [method, path] of [
      ['get', '/alerts/9999'],
      ['post', '/alerts/9999/acknowledge'],
    ] as const) {
      const { status, body } = await as('anna')[method](`${PROJECT}${path}`, { reason: 'x' });
      expect([status, body.detail]).toEqual([404, 'There is no alert 9999 in project P1.']);
    }
  });

  it('is written only by the database', async () => {
    const service = await serviceSession(site.url);
    const sql = [
      `update alert set cleared_at = now(), cleared_by = 'x', clearance = 'ended'`,
      `update alert set raised_at = raised_at + interval '1 hour'`,
      `delete from alert`,
      `insert into alert (drive_id, number, kind, rule, subject, text, raised_at, raised_by) select id, 77, 'shift_late', 'R', 'x', 'x', now(), 'x' from drive`,
      `select settle_alerts(1, 1, '{shift_late}', '[]')`,
    ];
    const [project] = await site.sql<{ id: number }>(`select id from project where code = 'P1'`);
    for (const each of sql)
      expect([each, await refusalOf(service, project?.id, each)]).toEqual([
        each,
        expect.objectContaining({ state: '42501' }),
      ]);
    await service.end();
  });
});

describe('a rule', () => {
  const put = (body: object, code = 'R', who = 'anna') => as(who).put(`${PROJECT}/alert-rules/${code}`, body);

  it('is put, listed, replaced, removed', async () => {
    const late = { kind: 'shift_late', drive: 'N', threshold: '100000.5', remark: 'Clause 4' };
    const stored = { code: 'R', ...late, threshold: '100000.500', isOn: true };
    const { status, body, headers } = await put(late);
    expect([status, body]).toEqual([201, stored]);
    expect((await put(late, 'R', 'vera')).status).toBe(403);
    expect((await put(late, 'R', 'paul')).status).toBe(403);
    const second = await as('anna')
      .put(`${PROJECT}/alert-rules/R`, { kind: 'shift_late', threshold: '900', isOn: false })
      .set('if-match', String(headers.etag));
    expect([second.status, second.body]).toEqual([
      200,
      { code: 'R', kind: 'shift_late', drive: null, threshold: '900.000', isOn: false, remark: null },
    ]);
    expect((await as('vera').get(`${PROJECT}/alert-rules`)).body).toEqual([second.body]);
    const answer = await as('vera').graphql(`{ project(project: "P1") { alertRules { code kind isOn } } }`);
    expect(answer.body.data.project.alertRules).toEqual([{ code: 'R', kind: 'shift_late', isOn: false }]);
    expect((await as('anna').delete(`${PROJECT}/alert-rules/R`)).status).toBe(204);
    expect((await as('anna').delete(`${PROJECT}/alert-rules/R`)).status).toBe(404);
    expect((await as('anna').get(`${PROJECT}/alert-rules/R`)).status).toBe(404);
  });

  it.each([
    ['an invalid kind', { kind: 'rain', threshold: '1' }, '/kind', /kind must be one of/],
    ['no kind', { threshold: '1' }, '/kind', /kind/],
    ['a hold point', { kind: 'hold_point_passed' }, '/kind', /always raises an alert: it takes no rule/],
    ['no threshold', { kind: 'shift_late' }, '/threshold', /kind shift_late needs a threshold/],
    [
      'a threshold where the record has the limit',
      { kind: 'inflow_above', threshold: '1' },
      '/threshold',
      /takes no threshold/,
    ],
    ['a negative threshold', { kind: 'cover_below', threshold: '-1' }, '/threshold', /threshold/],
    ['a threshold in words', { kind: 'cover_below', threshold: 'ten' }, '/threshold', /threshold/],
    ['an invalid drive', { kind: 'inflow_above', drive: 'X' }, '/drive', /drive X is not in project P1/],
  ])('with %s is refused', async (_, body, pointer, detail) => {
    const before = await site.contents();
    const { status, body: answer } = await put(body);
    expect([status, answer.errors]).toEqual([
      422,
      [expect.objectContaining({ in: 'body', pointer, detail: expect.stringMatching(detail) })],
    ]);
    expect(await site.contents()).toBe(before);
  });

  it('cannot change its kind', async () => {
    await put({ kind: 'shift_late', threshold: '900' }, 'K');
    const { status, body } = await put({ kind: 'metres_open', threshold: '900' }, 'K');
    const detail =
      'alert rule K is of kind shift_late and cannot change its kind: remove it, or use another code';
    expect([status, body.errors]).toEqual([
      409,
      [{ in: 'body', pointer: '/kind', value: 'metres_open', detail }],
    ]);
    await as('anna').delete(`${PROJECT}/alert-rules/K`);
  });
});

describe('the list', () => {
  it('is filtered by state, kind, drive and date, a page at a time', async () => {
    const all = await list();
    expect(all.length).toBeGreaterThan(1);
    const today = new Date().toISOString().slice(0, 10);
    expect(await list('?state=open')).toEqual(all.filter(({ state }) => state === 'open'));
    expect(await list('?state=cleared')).toEqual(all.filter(({ state }) => state === 'cleared'));
    expect(await list('?kind=shift_late')).toEqual([]);
    expect(await list('?kind=hold_point_passed&drive=N&from=2026-01-01')).toEqual(all);
    expect(await list('?to=2026-01-01')).toEqual([]);
    expect((await list(`?from=${today}`)).length).toBeGreaterThanOrEqual(0);
    const first = (await as('vera').get(`${PROJECT}/alerts?first=1`)).body as { items: Row[]; next: number };
    expect(first.items).toEqual(all.slice(0, 1));
    expect(await list(`?after=${first.next}`)).toEqual(all.slice(1));
    const query = `{ project(project: "P1") { alerts(first: 1, drive: "N") { nodes { number text } pageInfo { hasNextPage } } alert(number: 1) { number } } }`;
    expect((await as('vera').graphql(query)).body.data.project).toEqual({
      alerts: {
        nodes: [{ number: all[0]?.number, text: all[0]?.text }],
        pageInfo: { hasNextPage: true },
      },
      alert: { number: 1 },
    });
    const rows = await site.sql<Row>(
      'select number, kind, subject, is_open from report.alert_register order by number',
    );
    expect(rows).toEqual(
      all.map(({ number, kind, subject, state }) => ({ number, kind, subject, is_open: state === 'open' })),
    );
  });

  it.each([
    ['drive=X', '/drive', 'there is no drive X in project P1'],
    ['state=shut', '/state', expect.stringMatching(/state must be one of/)],
    ['from=2026-02-02&to=2026-02-01', '/to', expect.stringMatching(/to/)],
    ['first=0', '/first', expect.stringMatching(/first/)],
  ])('refuses %s', async (query, pointer, detail) => {
    const { status, body } = await as('vera').get(`${PROJECT}/alerts?${query}`);
    expect([status, body.errors]).toEqual([422, [expect.objectContaining({ pointer, detail })]]);
  });
});

describe('the subscription', () => {
  const follow = async (who: string, more = ''): Promise<AsyncGenerator<Row>> => {
    const { port } = site.app.getHttpServer().address() as AddressInfo;
    const client = createClient({
      url: `ws://127.0.0.1:${port}/graphql`,
      webSocketImpl: WebSocket,
      lazy: true,
      retryAttempts: 0,
      connectionParams: { authorization: `Bearer ${await site.token(who)}` },
    });
    clients.push(client);
    const query = `subscription { alertChanged(project: "P1"${more}) { number subject state acknowledgedBy change } }`;
    return client.iterate({ query }) as unknown as AsyncGenerator<Row>;
  };
  const nextAlert = async (news: AsyncGenerator<Row>): Promise<unknown> =>
    ((await news.next()).value as { data?: { alertChanged: Row } }).data?.alertChanged;

  it('reports each alert that is raised, acknowledged and cleared, from a given change on', async () => {
    const [last] = await site.sql<{ n: number }>('select max(number)::int as n from history.change');
    const since = Number(last?.n);
    const news = await follow('vera', `, drive: "N", since: ${since}`);
    await hold('C');
    await bore();
    const { number } = await newest();
    const of = { number, subject: 'C' };
    expect(await nextAlert(news)).toEqual({ ...of, state: 'open', acknowledgedBy: null, change: since + 2 });
    await as('paul').post(`${PROJECT}/alerts/${String(number)}/acknowledge`, { reason: 'Seen' });
    expect(await nextAlert(news)).toEqual({
      ...of,
      state: 'open',
      acknowledgedBy: 'paul',
      change: since + 3,
    });
    await as('anna').post(`${DRIVE}/hold-points/C/release`, { evidence: 'Core' });
    expect(await nextAlert(news)).toEqual({
      ...of,
      state: 'cleared',
      acknowledgedBy: 'paul',
      change: since + 4,
    });
  });

  it('refuses an invalid drive, and a change in the future', async () => {
    for (const [more, message] of [
      [', drive: "X"', /there is no drive X/],
      [', since: 99999999', /is not in the history/],
    ] as const) {
      const news = await follow('vera', more);
      const answer = news.next().then(
        ({ value }) => JSON.stringify(value),
        (error: unknown) => JSON.stringify(error),
      );
      expect(await answer).toMatch(message);
    }
  });
});
