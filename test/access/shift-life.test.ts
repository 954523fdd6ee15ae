import type pg from 'pg';
import { boredDay, idleDay } from '../builders/days.js';
import { aProject } from '../builders/project.js';
import { csv, upload } from '../driving/strokes/tables.js';
import { type Office, startOffice } from '../harness/office.js';
import { refusalOf, rowsOf, serviceSession, takenBack } from '../harness/service-role.js';
import { type ShiftAnswer, type ShiftApi, shiftsByGraphql, shiftsByRest } from '../harness/shift-apis.js';

// From draft to submitted to countersigned and back, by both APIs. Anna posts shifts; boris and clara are engineers, who
// may post and countersign; vera is a viewer; olga is the administrator.

const ROLES = { anna: 'shift_poster', boris: 'engineer', clara: 'engineer', vera: 'viewer' };
const APIS = [
  ['REST', shiftsByRest],
  ['GraphQL', shiftsByGraphql],
] as const;

let app: Office;

beforeAll(async () => {
  app = await startOffice('olga', Object.keys(ROLES));
  for (const [project] of APIS) {
    await aProject(app.as('olga'), { project });
    await app.employ(project, ROLES);
  }
});

afterAll(() => app.close());

const draft = <T extends object>(document: T) => ({ ...document, state: 'draft' });

const etagOf = ({ etag }: ShiftAnswer): string => etag ?? '';

const bored = (quantity = '8') => boredDay('2027-03-01', 1, '1+200', '1+201.7', quantity);

// as the project was made
const RATIOS = { torqueRatioLower: '0.35', torqueRatioUpper: '0.57' };
const MACHINE = {
  name: 'Trial machine',
  discCount: 50,
  discRadiusMm: '241.3',
  idleTorqueKnm: '180',
  ...RATIOS,
};
const CHAINAGES = { startChainage: '1+200', endChainage: '2+200', direction: 1 };
const DRIVE = { name: 'Trial drive', ...CHAINAGES, boredDiameterM: '7', machine: 'M1' };

describe.each(APIS)('by %s', (project, shifts) => {
  let api: ShiftApi;

  beforeAll(() => {
    api = shifts(app, project, app.headersOf);
  });

  /** A shift submitted by anna and countersigned by boris. */
  const countersigned = async (date: string, document: object = idleDay(date)): Promise<string> => {
    const submitted = await api.put('anna', date, document);
    const { status, etag, detail } = await api.countersign('boris', date, etagOf(submitted));
    if (status !== 200 || etag === undefined) throw new Error(`${date}: ${status} ${detail}`);
    return etag;
  };

  const refused = (answer: ShiftAnswer) => [answer.status, answer.detail];

  describe('a shift', () => {
    it('goes from draft to submitted to countersigned, each by its current tag', async () => {
      const date = '2027-04-01';
      const drafted = await api.put('anna', date, draft(idleDay(date)));
      const submitted = await api.put('anna', date, idleDay(date), etagOf(drafted));
      expect([drafted, submitted]).toMatchObject([
        { state: 'draft', outcome: 'created' },
        { state: 'submitted', outcome: 'replaced' },
      ]);
      const signed = await api.countersign('boris', date, etagOf(submitted));
      expect(signed).toMatchObject({ status: 200, state: 'countersigned' });
      expect(new Set([drafted, submitted, signed].map(etagOf)).size).toBe(3);
      const read = await api.get('vera', date);
      expect([read.document?.state, read.etag]).toEqual(['countersigned', signed.etag]);
      const [row] = await app.sql(
        `select posted_by, countersigned_by, countersigned_at from shift where shift_date = $1 and project_id = (select id from project where code = $2)`,
        [date, project],
      );
      expect(row).toEqual({
        posted_by: ['anna'],
        countersigned_by: 'boris',
        countersigned_at: expect.any(Date),
      });
    });

    it('is not countersigned as a draft, when it does not exist, twice, or by a stale tag', async () => {
      const date = '2027-04-02';
      expect(refused(await api.countersign('boris', date, '"x"'))).toEqual([
        404,
        `There is no shift ${date} day in drive N.`,
      ]);
      const drafted = await api.put('anna', date, draft(idleDay(date)));
      expect(refused(await api.countersign('boris', date, etagOf(drafted)))).toEqual([
        409,
        `shift ${date} day is draft, not submitted`,
      ]);
      const submitted = await api.put('anna', date, idleDay(date), etagOf(drafted));
      expect((await api.countersign('boris', date, etagOf(drafted))).status).toBe(412);
      const signed = await api.countersign('boris', date, etagOf(submitted));
      expect((await api.countersign('clara', date, etagOf(submitted))).status).toBe(412);
      expect(refused(await api.countersign('clara', date, etagOf(signed)))).toEqual([
        409,
        `shift ${date} day is countersigned, not submitted`,
      ]);
    });

    it('is countersigned only by those who may', async () => {
      const date = '2027-04-03';
      const submitted = await api.put('boris', date, idleDay(date));
      for (const who of ['anna', 'vera', 'olga'])
        expect(refused(await api.countersign(who, date, etagOf(submitted)))).toEqual([
          403,
          `${who} has no shift.countersign in project ${project}.`,
        ]);
      expect((await api.get('vera', date)).document?.state).toBe('submitted');
    });

    it('is never countersigned by a person who posted this version or an earlier one', async () => {
      const date = '2027-04-04';
      const first = await api.put('boris', date, draft(idleDay(date)));
      const second = await api.put('clara', date, idleDay(date), etagOf(first));
      const third = await api.put('anna', date, idleDay(date, 'looked through'), etagOf(second));
      for (const who of ['boris', 'clara'])
        expect(refused(await api.countersign(who, date, etagOf(third)))).toEqual([
          403,
          `shift ${date} day was posted by ${who}: another person must countersign it`,
        ]);
      expect((await api.get('vera', date)).document?.state).toBe('submitted');
    });

    it('may be countersigned by a person who only sent the same content again', async () => {
      const date = '2027-04-05';
      const submitted = await api.put('anna', date, idleDay(date));
      expect((await api.put('boris', date, idleDay(date))).outcome).toBe('unchanged');
      expect((await api.countersign('boris', date, etagOf(submitted))).state).toBe('countersigned');
    });

    it('cannot be posted as countersigned', async () => {
      const date = '2027-04-06';
      const answer = await api.put('boris', date, { ...idleDay(date), state: 'countersigned' });
      expect(refused(answer)).toEqual([422, expect.stringContaining('countersigning is a separate request')]);
      expect((await api.get('vera', date)).status).toBe(404);
    });
  });

  describe('a countersigned shift', () => {
    const date = '2027-03-01';
    let etag: string;
    let before: string;
    const STANDS = `shift ${date} day is countersigned: reopen it before you change it`;

    beforeAll(async () => {
      etag = await countersigned(date, bored());
      before = await app.contents();
    });

    afterEach(async () => {
      expect(await app.contents()).toBe(before);
    });

    it('accepts no other content', async () => {
      for (const other of [bored('9'), draft(bored())])
        expect(refused(await api.put('anna', date, other, etag))).toEqual([409, STANDS]);
    });

    it('is answered unchanged when its content is sent again', async () => {
      expect(await api.put('anna', date, bored())).toMatchObject({
        status: 200,
        outcome: 'unchanged',
        state: 'countersigned',
        etag,
      });
    });

    it('cannot be removed', async () => {
      const { status, detail } = await api.remove('anna', date, etag);
      expect([status, detail]).toEqual([409, expect.stringContaining('only a draft can be removed')]);
    });

    it('keeps the values computed with its strokes: a machine or diameter that would change them is refused', async () => {
      const put = (path: string, body: object) =>
        app.as('clara').http.put(`/v1/projects/${project}${path}`).send(body);
      const machine = await put('/machines/M1', { ...MACHINE, idleTorqueKnm: '200' });
      expect([machine.status, machine.body.detail]).toEqual([
        409,
        expect.stringMatching(/countersigned under other machine data/),
      ]);
      for (const answer of [
        await put('/drives/N', { ...DRIVE, boredDiameterM: '8' }),
        await put('/drives/N', { ...DRIVE, machine: null }),
      ])
        expect([answer.status, answer.body.detail]).toEqual([
          409,
          `values of strokes of drive N would change, but ${STANDS}`,
        ]);
      expect((await put('/machines/M1', MACHINE)).status).toBeLessThan(300);
    });

    it('stays when a table replaces the strokes imported before, and is never replaced by one', async () => {
      const url = `/v1/projects/${project}/drives/N/strokes`;
      const send = (row: string) =>
        upload(app.as('clara'), { url, file: csv([row]), fields: { replace: 'true' } });
      const standing = () =>
        app.sql(
          `select to_jsonb(b) as row from boring b join project p on p.id = b.project_id where p.code = $1 order by b.id`,
          [project],
        );
      const own = await standing();
      expect((await send('1,0,1.7,8000')).status).toBe(409);
      expect((await send('7,0.5,1,8000')).status).toBe(409);
      expect((await send('2,5,6,8000')).body).toMatchObject({ created: 1, removed: 0 });
      expect((await send('3,6,7,8000')).body).toMatchObject({ created: 1, removed: 1 });
      expect(await standing()).toEqual([...own, { row: expect.objectContaining({ stroke_number: 3 }) }]);
      await app.sql('delete from boring where shift_id is null');
    });
  });

  describe('a reopened shift', () => {
    it('needs the permission, the tag, and someone other than those who posted it', async () => {
      const date = '2027-04-07';
      const first = await api.put('clara', date, draft(idleDay(date)));
      const submitted = await api.put('anna', date, idleDay(date), etagOf(first));
      expect(refused(await api.reopen('boris', date, etagOf(submitted), 'why'))).toEqual([
        409,
        `shift ${date} day is submitted, not countersigned`,
      ]);
      const etag = etagOf(await api.countersign('boris', date, etagOf(submitted)));
      for (const who of ['anna', 'vera', 'olga'])
        expect(refused(await api.reopen(who, date, etag, 'why'))).toEqual([
          403,
          `${who} has no shift.reopen in project ${project}.`,
        ]);
      expect(refused(await api.reopen('clara', date, etag, 'why'))).toEqual([
        403,
        `shift ${date} day was posted by clara: another person must reopen it`,
      ]);
      expect((await api.reopen('boris', date, etagOf(submitted), 'why')).status).toBe(412);
      expect((await api.reopen('boris', '2027-05-01', etag, 'why')).status).toBe(404);
      expect(await api.get('vera', date)).toMatchObject({ etag, document: { state: 'countersigned' } });
    });

    it.each(['', '   '])('needs a reason, not only "%s": 422', async (reason) => {
      const date = `2027-04-1${reason.length + 5}`;
      const etag = await countersigned(date);
      expect((await api.reopen('clara', date, etag, reason)).status).toBe(422);
      expect((await api.get('vera', date)).document?.state).toBe('countersigned');
    });

    it('is a draft again, with a new tag; its reason is in the history', async () => {
      const date = '2027-04-08';
      const submitted = await api.put('anna', date, idleDay(date));
      const signed = await api.countersign('boris', date, etagOf(submitted));
      const reopened = await api.reopen('clara', date, etagOf(signed), 'Größe misread – 測量');
      expect(reopened).toMatchObject({ status: 200, state: 'draft' });
      const history = `/v1/projects/${project}/changes`;
      const { http } = app.as('boris');
      const { number } = (await http.get(`${history}/head`)).body;
      const change = await http.get(`${history}/${number}`);
      expect(change.body).toMatchObject({
        actor: 'clara',
        credential: 'token',
        reason: 'Größe misread – 測量',
        tables: ['shift'],
      });
      const read = await api.get('vera', date);
      expect([read.document?.state, read.etag]).toEqual(['draft', reopened.etag]);
      expect([submitted.etag, signed.etag]).not.toContain(reopened.etag);
    });

    it('can be submitted again as it was', async () => {
      const date = '2027-04-09';
      const signed = await countersigned(date);
      const reopened = await api.reopen('clara', date, signed, 'why');
      const again = await api.put('anna', date, idleDay(date), etagOf(reopened));
      expect(again).toMatchObject({ status: 200, state: 'submitted', outcome: 'replaced' });
    });

    it('that is sent as it was read is unchanged', async () => {
      const date = '2027-04-10';
      const reopened = await api.reopen('clara', date, await countersigned(date), 'why');
      const read = await api.get('vera', date);
      expect(await api.put('anna', date, read.document ?? {})).toMatchObject({
        status: 200,
        outcome: 'unchanged',
        etag: reopened.etag,
      });
    });
  });

  describe('the versions of a shift', () => {
    it('are all listed, and each reads as it was put', async () => {
      const date = '2027-04-11';
      const first = boredDay(date, 2, '1+201.7', '1+203.000', '8.000');
      const second = boredDay(date, 2, '1+201.7', '1+204.000', '9.000');
      const answers: ShiftAnswer[] = [];
      const documents: unknown[] = [];
      const step = async (answer: Promise<ShiftAnswer>): Promise<string> => {
        answers.push(await answer);
        documents.push((await api.get('vera', date)).document);
        return etagOf(answers.at(-1) as ShiftAnswer);
      };
      let etag = await step(api.put('anna', date, draft(first)));
      etag = await step(api.put('anna', date, first, etag));
      etag = await step(api.countersign('boris', date, etag));
      etag = await step(api.reopen('clara', date, etag, 'face misread'));
      etag = await step(api.put('anna', date, draft(second), etag));
      etag = await step(api.put('anna', date, second, etag));
      await step(api.countersign('clara', date, etag));

      const { list } = await api.versions('vera', date);
      const listed = list.map(({ state, madeBy, reason, countersignedBy, postedBy }) =>
        [state, madeBy, reason, countersignedBy, postedBy.join()].join(' '),
      );
      expect(listed).toEqual([
        'draft anna   anna',
        'submitted anna   anna',
        'countersigned boris  boris anna',
        'draft clara face misread  anna',
        'draft anna   anna',
        'submitted anna   anna',
        'countersigned clara  clara anna',
      ]);
      expect(list.map(({ etag }) => etag)).toEqual(answers.map(etagOf));
      expect(list.map(({ until }) => until)).toEqual([...list.slice(1).map(({ madeAt }) => madeAt), null]);
      for (const [index, { change, etag, state, countersignedBy, countersignedAt }] of list.entries()) {
        const version = await api.version('vera', date, change);
        expect([version.status, version.etag, version.document]).toEqual([200, etag, documents[index]]);
        const { strokes, support, ground } = index < 4 ? first : second;
        expect(version.document).toMatchObject({
          state,
          strokes: [{ borings: [{ to: strokes[0]?.borings[0]?.to }] }],
          support: [{ quantity: support[0]?.quantity }],
          ground: [{ to: ground[0]?.to }],
          activities: [{ code: 'BORE' }, { code: 'MAINT' }],
        });
        expect(countersignedAt === null).toBe(countersignedBy === null);
      }
    });

    it('stay readable when it is removed, and continue when it is put again', async () => {
      const date = '2027-04-12';
      const first = await api.put('anna', date, draft(idleDay(date, 'first')));
      const stood = await api.get('anna', date);
      expect(Math.floor((await api.remove('anna', date, etagOf(first))).status / 100)).toBe(2);
      expect((await api.get('anna', date)).status).toBe(404);
      const { list } = await api.versions('vera', date);
      expect(list).toMatchObject([{ state: 'draft', etag: first.etag, until: expect.any(String) }]);
      const version = await api.version('vera', date, list[0]?.change ?? 0);
      expect(version).toMatchObject({ status: 200, etag: first.etag, document: stood.document });
      await api.put('boris', date, draft(idleDay(date, 'second')));
      const both = (await api.versions('vera', date)).list;
      expect(both).toMatchObject([
        { madeBy: 'anna', until: list[0]?.until },
        { madeBy: 'boris', until: null },
      ]);
    });

    it('are only those of that shift', async () => {
      const [one, other] = ['2027-04-13', '2027-04-14'];
      await api.put('anna', one, draft(idleDay(one)));
      await api.put('anna', other, draft(idleDay(other)));
      const [version] = (await api.versions('vera', other)).list;
      expect((await api.version('vera', one, version?.change ?? 0)).status).toBe(404);
      expect((await api.versions('vera', '2027-05-01')).status).toBe(404);
    });
  });
});

describe('by REST only', () => {
  it('a countersignature and a reopening name their version, and the latter its reason', async () => {
    const date = '2027-04-20';
    const api = shiftsByRest(app, 'REST', app.headersOf);
    const ask = (who: string, what: string, headers: Record<string, string>, body?: object) =>
      app.as(who).http.post(`/v1/projects/REST/drives/N/shifts/${date}/day/${what}`).set(headers).send(body);
    const submitted = await api.put('anna', date, idleDay(date));
    expect((await ask('boris', 'countersign', {})).status).toBe(428);
    const signed = { 'If-Match': etagOf(await api.countersign('boris', date, etagOf(submitted))) };
    expect((await ask('clara', 'reopen', {}, { reason: 'why' })).status).toBe(428);
    for (const body of [{}, { reason: null }, { reason: 7 }])
      expect((await ask('clara', 'reopen', signed, body)).status).toBe(422);
    expect((await api.get('vera', date)).document?.state).toBe('countersigned');
  });
});

describe('by SQL, as the service', () => {
  let service: pg.Client;
  let scope: number;

  beforeAll(async () => {
    service = await serviceSession(app.url);
    scope = (await app.sql<{ id: number }>(`select id from project where code = 'REST'`))[0]?.id ?? 0;
  });

  afterAll(() => service.end());

  const OURS = `(select s.id from public.shift s where state = 'countersigned' and shift_date = '2027-03-01')`;
  const FREE = `(select s.id from public.shift s where state = 'draft' order by shift_date limit 1)`;
  const CHILDREN = ['boring', 'activity', 'ground_interval', 'support_installed'];

  it.each([
    ...CHILDREN.flatMap((table) => [
      `update public.${table} set id = id where shift_id = ${OURS}`,
      `update public.${table} set shift_id = ${FREE} where shift_id = ${OURS}`,
      `delete from public.${table} where shift_id = ${OURS}`,
    ]),
    `update public.boring set torque_ratio = 1 where shift_id = ${OURS}`,
    `update public.activity set remark = 'x' where shift_id = ${OURS}`,
    `update public.activity set shift_id = ${OURS} where shift_id = ${FREE}`,
    `insert into public.ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id) select drive_id, shift_id, 5, 6, ground_class_id from public.ground_interval where shift_id = ${OURS}`,
    `insert into public.boring (drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at) select drive_id, shift_id, 9, 5, 6, ended_at, ended_at + interval '1 minute' from public.boring where shift_id = ${OURS}`,
    `insert into public.support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity) select drive_id, shift_id, 9, support_item_id, unit, zone, 5, 6, 1 from public.support_installed where shift_id = ${OURS}`,
    `update public.shift set remark = 'x' where id = ${OURS}`,
    `update public.shift set digest = 'x' where id = ${OURS}`,
    `update public.shift set ends_at = ends_at + interval '1 hour' where id = ${OURS}`,
    `update public.shift set posted_by = '{}' where id = ${OURS}`,
    `update public.shift set countersigned_by = 'me' where id = ${OURS}`,
    `update public.shift set state = 'submitted' where id = ${OURS}`,
    `update public.shift set state = 'draft' where id = ${OURS}`,
    `select set_config('drivebook.reason', 'why', true); update public.shift set state = 'draft', remark = 'x' where id = ${OURS}`,
    `delete from public.shift where id = ${OURS}`,
    `update public.drive set id = id + 1000`,
    `update public.shift set state = 'countersigned' where id = ${FREE}`,
    `insert into public.shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      select drive_id, '2027-06-01', calendar_shift_id, '2027-06-01 06:00Z', '2027-06-01 18:00Z', 'countersigned', 'x' from public.shift where id = ${OURS}`,
  ])('nobody does: %s', async (sql) => {
    expect(await refusalOf(service, scope, sql)).toMatchObject({ state: 'DB002' });
  });

  it('nobody sets who posted or countersigned', async () => {
    const submitted = `(select id from public.shift where state = 'submitted' order by shift_date limit 1)`;
    const [row] = await takenBack(service, scope, async () => {
      await service.query(`select set_config('drivebook.actor', 'mallory', true)`);
      return rowsOf<{ posted_by: string[]; countersigned_by: string | null }>(
        service,
        `update public.shift set posted_by = '{}', countersigned_by = 'boris', countersigned_at = now() where id = ${submitted} returning posted_by, countersigned_by`,
      );
    });
    expect(row?.countersigned_by).toBeNull();
    expect(row?.posted_by.at(-1)).toBe('mallory');
    expect(row?.posted_by.length).toBeGreaterThan(1);
  });
});
