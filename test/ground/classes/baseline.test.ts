import type pg from 'pg';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import type { Body } from './trial.js';

// Drive N runs from 1+200 to 2+200, S against it. Each test puts its borings and notes in its own drive.

let app: TestApp;
let service: pg.Client;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'S', startChainage: '2+200', endChainage: '1+200', direction: -1 });
  await aDrive(app, { drive: 'MET', startChainage: '2+200', endChainage: '1+200', direction: -1 });
  await aDrive(app, { drive: 'SHORT', endChainage: '1+700' });
  await app.http.put('/v1/projects/P1/ground-classes/C').send({ description: 'Poor rock' });
  service = await serviceSession(app.url);
});

afterAll(async () => {
  await service.end();
  await app.close();
});

const url = (drive = 'N'): string => `/v1/projects/P1/drives/${drive}`;

const interval = (from: string, to: string, groundClass = 'A', more: Body = {}): Body => ({
  from,
  to,
  groundClass,
  advanceRateMPerD: '15',
  ...more,
});

const put = (name: string, intervals: unknown, drive = 'N', more: Body = {}) =>
  app.http
    .put(`${url(drive)}/baselines/${name}`)
    .send({ workingHoursPerDay: '20', intervals, ...more } as Body);

const GNEISS = { lithology: 'gneiss', waterInflowLPerMin: '120.5' };

describe('a baseline', () => {
  it('is put, read, listed and removed', async () => {
    const expected = {
      baseline: 'CONTRACT',
      workingHoursPerDay: '20.00',
      remark: 'annex 4',
      intervalCount: 2,
      intervals: [
        {
          ...interval('1+200.000', '1+650.000', 'A', GNEISS),
          waterInflowLPerMin: '120.50',
          advanceRateMPerD: '15.000',
        },
        {
          ...interval('1+650.000', '2+200.000', 'B'),
          lithology: null,
          waterInflowLPerMin: null,
          advanceRateMPerD: '15.000',
        },
      ],
    };
    // in any order: the place decides
    const given = [interval('1+650', '2+200', 'B'), interval('1+200', '1+650', 'A', GNEISS)];
    const { status, body } = await put('CONTRACT', given, 'N', { remark: 'annex 4' });
    expect([status, body]).toEqual([201, expected]);
    expect((await app.http.get(`${url()}/baselines/CONTRACT`)).body).toEqual(expected);
    expect((await app.http.get(`${url()}/baselines`)).body).toEqual([{ ...expected, intervals: undefined }]);
    const input = `{ workingHoursPerDay: "16", intervals: [{ from: "2+200", to: "1+200", groundClass: "B", advanceRateMPerD: "6.5" }] }`;
    const at = 'project: "P1", drive: "S", baseline: "G"';
    const ask = async (query: string): Promise<Body> =>
      (await app.http.post('/graphql').send({ query })).body as Body;
    expect(
      await ask(`mutation { putBaseline(${at}, input: ${input}) { intervalCount workingHoursPerDay } }`),
    ).toEqual({
      data: { putBaseline: { intervalCount: 1, workingHoursPerDay: '16.00' } },
    });
    const query = `{ drive(project: "P1", drive: "S") { baselines { baseline } baseline(baseline: "G") { intervals { to advanceRateMPerD } } } }`;
    expect(await ask(query)).toEqual({
      data: {
        drive: {
          baselines: [{ baseline: 'G' }],
          baseline: { intervals: [{ to: '1+200.000', advanceRateMPerD: '6.500' }] },
        },
      },
    });
    expect(await ask(`mutation { removeBaseline(${at}) }`)).toEqual({ data: { removeBaseline: true } });
    for (const answer of [
      await app.http.get(`${url('S')}/baselines/G`),
      await app.http.delete(`${url('S')}/baselines/G`),
      await app.http.get(`${url('S')}/baselines/G/encountered`),
      await app.http.get(`${url('S')}/baselines/G/strip`),
    ])
      expect([answer.status, answer.body.detail]).toEqual([404, 'There is no baseline G in drive S.']);
  });

  it('replaces the previous one as a whole; the same content again is no change', async () => {
    const changes = async (): Promise<unknown> =>
      (await app.sql<{ n: number }>('select count(*)::int as n from history.change'))[0]?.n;
    const three = [
      interval('1+200', '1+300'),
      interval('1+300', '1+400', 'B'),
      interval('1+400', '2+200', 'C'),
    ];
    await put('MOVED', three);
    const before = await changes();
    expect((await put('MOVED', three)).status).toBeLessThan(300);
    expect(await changes()).toBe(before);
    const moved = [
      interval('1+200', '1+350', 'B'),
      interval('1+350', '1+400'),
      interval('1+400', '2+200', 'C'),
    ];
    const { body } = await put('MOVED', moved);
    expect((body.intervals as Body[]).map(({ from, groundClass }) => [from, groundClass])).toEqual([
      ['1+200.000', 'B'],
      ['1+350.000', 'A'],
      ['1+400.000', 'C'],
    ]);
    expect((await put('MOVED', moved, 'N', { workingHoursPerDay: '24' })).body.workingHoursPerDay).toBe(
      '24.00',
    );
  });

  it('cannot be removed while a basis of time entitlement refers to it', async () => {
    await put('USED', [interval('1+200', '2+200')]);
    const basis = {
      rule: 'difference',
      baseline: 'USED',
      tenderedWeeks: '52',
      workingHoursPerWeek: '100',
      items: [],
    };
    await app.http.put(`${url()}/entitlements/TIME`).send(basis);
    const { status, body } = await app.http.delete(`${url()}/baselines/USED`);
    expect([status, body.detail]).toEqual([
      409,
      'entitlement TIME uses baseline USED: the baseline cannot be removed',
    ]);
    expect((await app.http.delete(`${url()}/entitlements/TIME`)).status).toBe(204);
    expect((await app.http.delete(`${url()}/baselines/USED`)).status).toBe(204);
  });

  it('that does not tile the drive is refused with every gap and overlap, and nothing is written', async () => {
    const before = await app.contents();
    const [first, last] = [interval('1+200', '1+650'), interval('1+650', '2+200')];
    const cases: [unknown, string, RegExp][] = [
      [undefined, '/intervals', /^intervals is missing$/],
      [[], '/intervals', /^a baseline must have at least one interval$/],
      [[first], '/intervals/0/to', /^1\+650\.000 to 2\+200\.000 is missing: a baseline must cover its drive/],
      [[last], '/intervals/0/from', /^1\+200\.000 to 1\+650\.000 is missing/],
      [
        [first, interval('1+650.001', '2+200')],
        '/intervals/1/from',
        /^1\+650\.000 to 1\+650\.001 is missing/,
      ],
      [
        [interval('1+649.5', '2+200'), first],
        '/intervals/0/from',
        /^1\+649\.5 to 2\+200 overlaps the interval 1\+200 to 1\+650: 0\.500 m twice$/,
      ],
      [
        [interval('1+200', '2+200'), interval('1+300', '1+310')],
        '/intervals/1/from',
        /^1\+300 to 1\+310 overlaps the interval 1\+200 to 2\+200: 10\.000 m twice$/,
      ],
      [[first, interval('2+200', '1+650')], '/intervals/1/to', /does not lie ahead of 2\+200/],
      [[first, interval('1+650', '2+200.001')], '/intervals/1/to', /lies beyond the end of the drive/],
      [
        [first, { ...last, groundClass: 'Z' }],
        '/intervals/1/groundClass',
        /^ground class Z is not in the project: its ground classes are A, B/,
      ],
      [[first, { ...last, advanceRateMPerD: '0' }], '/intervals/1/advanceRateMPerD', /from 0\.001 to 999/],
      [[first, { ...last, waterInflowLPerMin: '-1' }], '/intervals/1/waterInflowLPerMin', /from 0 to/],
    ];
    for (const [intervals, pointer, detail] of cases) {
      const { status, body } = await put('BAD', intervals);
      expect([status, body.errors]).toEqual([
        422,
        expect.arrayContaining([expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })]),
      ]);
    }
    const two = await put('BAD', [interval('1+210', '1+300'), interval('1+310', '2+200')]);
    expect((two.body.errors as Body[]).map(({ detail }) => String(detail).split(' is')[0])).toEqual([
      '1+200.000 to 1+210.000',
      '1+300.000 to 1+310.000',
    ]);
    for (const workingHoursPerDay of ['0', '24.01', undefined])
      expect((await put('BAD', [interval('1+200', '2+200')], 'N', { workingHoursPerDay })).status).toBe(422);
    expect((await put('a%20b', [first, last])).body.errors[0].pointer).toBe('/baseline');
    expect((await put('BAD', [first, last], 'NONE')).status).toBe(404);
    expect(await app.contents()).toBe(before);
  });
});

describe('by SQL, as the service', () => {
  const of = `baseline_id = (select b.id from public.baseline b where name = 'CONTRACT')`;
  const made = `insert into public.baseline (drive_id, name, working_hours_per_day) select id, 'X', 20 from public.drive where code = 'N'`;

  it.each<[string, string, string, string | undefined]>([
    [
      'a gap inside',
      `update public.baseline_interval set to_m = 449 where ${of} and from_m = 0`,
      'DB001',
      'baseline_tiled',
    ],
    [
      'a gap at the start',
      `delete from public.baseline_interval where ${of} and from_m = 0`,
      'DB001',
      'baseline_tiled',
    ],
    [
      'a gap at the end',
      `update public.baseline_interval set to_m = 999.999 where ${of} and to_m = 1000`,
      'DB001',
      'baseline_tiled',
    ],
    [
      'an end beyond the drive',
      `update public.baseline_interval set to_m = 1001 where ${of} and to_m = 1000`,
      'DB001',
      'baseline_tiled',
    ],
    ['none at all', `delete from public.baseline_interval where ${of}`, 'DB001', 'baseline_tiled'],
    ['a baseline without an interval', made, 'DB001', 'baseline_tiled'],
    [
      'an overlap',
      `insert into public.baseline_interval (baseline_id, from_m, to_m, ground_class_id, advance_rate_m_per_d)
        select baseline_id, 10, 20, ground_class_id, 15 from public.baseline_interval where ${of} and from_m = 0`,
      '23P01',
      'baseline_interval_once',
    ],
    [
      'a baseline moved to a drive of another length',
      `update public.baseline set drive_id = (select id from public.drive where code = 'SHORT') where name = 'CONTRACT'`,
      'DB001',
      'baseline_tiled',
    ],
    [
      'a moved border',
      `update public.baseline_interval set to_m = 500 where ${of} and from_m = 0; update public.baseline_interval set from_m = 500 where ${of} and from_m = 450`,
      'taken',
      undefined,
    ],
    ['all of it going', `delete from public.baseline where name = 'CONTRACT'`, 'taken', undefined],
    [
      'another start of the drive',
      `update public.drive set start_chainage_m = 1201 where code = 'N'`,
      'DB002',
      'drive_start_fixed',
    ],
    [
      'another end of the drive',
      `update public.drive set end_chainage_m = 2300 where code = 'N'`,
      'DB002',
      'drive_tiled_by_baseline',
    ],
    [
      'another name of the drive',
      `update public.drive set name = 'x', end_chainage_m = end_chainage_m where code = 'N'`,
      'taken',
      undefined,
    ],
  ])('%s is refused', async (_, sql, state, constraint) => {
    const [project] = await app.sql<{ id: number }>(`select id from project where code = 'P1'`);
    expect(await refusalOf(service, project?.id, sql)).toMatchObject({
      state,
      ...(constraint && { constraint }),
    });
  });
});

describe('baseline against encountered', () => {
  // Against the chainage, 30 m driven. Baseline: 20 m A, 10 m B, then C. Noted: A 0–12, B 12–18, nothing, C 24–30.
  // Decided: B 10–14 agreed, A 16–20 disputed, A 28–40 proposed.
  // Governing: A 0–10 noted, B 10–14 agreed, B 14–16 and 16–18 noted, – 18–24, C 24–28 and 28–30 noted; A 16–20 and 28–30 is contested.
  const met = `${url('MET')}/baselines/B/encountered`;
  let moment: string;

  beforeAll(async () => {
    await put(
      'B',
      [interval('2+200', '2+180'), interval('2+180', '2+170', 'B'), interval('2+170', '1+200', 'C')],
      'MET',
    );
    await app.sql(
      `insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
        select d.id, '2027-03-01', c.id, '2027-03-01 06:00Z', '2027-03-01 18:00Z', 'draft', 'x' from drive d, calendar_shift c where d.code = 'MET' and c.name = 'day';
      insert into boring (drive_id, stroke_number, from_m, to_m) select id, 1, 0, 30 from drive where code = 'MET';
      insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id, lithology)
        select d.id, s.id, n.a, n.z, c.id, 'rock ' || n.class from drive d join shift s on s.drive_id = d.id
        cross join (values (0, 12, 'A'), (12, 18, 'B'), (24, 30, 'C')) n(a, z, class) join ground_class c on c.code = n.class where d.code = 'MET'`,
    );
    moment = new Date().toISOString();
    const decide = (number: number, from: string, to: string, groundClass: string) =>
      app.http.put(`${url('MET')}/class-decisions/${number}`).send({
        from,
        to,
        groundClass,
        contractorRepresentative: 'C',
        employerRepresentative: 'E',
      });
    await decide(1, '2+190', '2+186', 'B');
    await decide(2, '2+184', '2+180', 'A');
    await decide(3, '2+172', '2+160', 'A');
    const by = (actor: string): string =>
      `select set_config('drivebook.actor', '${actor}', true), set_config('drivebook.reason', 'soft', true)`;
    await app.sql(`begin; ${by('boris')}; update class_decision set state = 'agreed' where number = 1;
      update class_decision set state = 'disputed' where number = 2; commit`);
  });

  const line = (one: Body, fields: string[]): string => fields.map((field) => one[field] ?? '-').join(' ');

  it('agrees with the figures worked by hand: by class, and as a cross table', async () => {
    const { body } = await app.http.get(met);
    expect(body.drivenM).toBe('30.000');
    const figures = [
      'groundClass',
      'baselineM',
      'encounteredM',
      'differenceM',
      'sameM',
      'agreedM',
      'disputedM',
      'proposedM',
      'notedM',
      'draftM', // the shift is a draft, so all notes are
      'wholeBaselineM',
    ];
    expect((body.classes as Body[]).map((one) => line(one, figures))).toEqual([
      'A 20.000 10.000 -10.000 10.000 0.000 0.000 0.000 10.000 10.000 20.000',
      'B 10.000 8.000 -2.000 0.000 4.000 2.000 0.000 4.000 4.000 10.000',
      'C 0.000 6.000 6.000 0.000 0.000 0.000 2.000 6.000 6.000 970.000',
      '- 0.000 6.000 6.000 0.000 0.000 2.000 0.000 0.000 0.000 0.000',
    ]);
    // 20 and 10, and 10, 8, 6 and 6 of 30: rounded down 66.6666, 33.3333; 33.3333, 26.6666, 20, 20
    const percent = ['groundClass', 'baselinePercent', 'encounteredPercent'];
    expect((body.classes as Body[]).map((one) => line(one, percent))).toEqual([
      'A 66.6667 33.3333',
      'B 33.3333 26.6667',
      'C 0.0000 20.0000',
      '- 0.0000 20.0000',
    ]);
    expect(
      (body.cross as Body[]).map((one) => line(one, ['baselineClass', 'governingClass', 'lengthM'])),
    ).toEqual(['A A 10.000', 'A B 8.000', 'A - 2.000', 'B C 6.000', 'B - 4.000']);
  });

  it('is reported along the drive, by REST and a page at a time by GraphQL', async () => {
    const fields = [
      'number',
      'from',
      'to',
      'lengthM',
      'baselineClass',
      'governingClass',
      'basis',
      'sameM',
      'otherM',
      'unclassedM',
    ];
    const { body } = await app.http.get(`${url('MET')}/baselines/B/strip`);
    const lines = [
      '1 2+200.000 2+190.000 10.000 A A noted 10.000 0.000 0.000',
      '2 2+190.000 2+186.000 4.000 A B agreed 10.000 4.000 0.000',
      '3 2+186.000 2+184.000 2.000 A B noted 10.000 6.000 0.000',
      '4 2+184.000 2+182.000 2.000 A B noted 10.000 8.000 0.000',
      '5 2+182.000 2+180.000 2.000 A - - 10.000 8.000 2.000',
      '6 2+180.000 2+176.000 4.000 B - - 10.000 8.000 6.000',
      '7 2+176.000 2+172.000 4.000 B C noted 10.000 12.000 6.000',
      '8 2+172.000 2+170.000 2.000 B C noted 10.000 14.000 6.000',
    ];
    expect((body as Body[]).map((one) => line(one, fields))).toEqual(lines);
    const query = `{ drive(project: "P1", drive: "MET") { baselineEncountered(baseline: "B") { drivenM classes { groundClass } cross { lengthM } }
      baselineStrip(baseline: "B", first: 2, after: "3") { nodes { ${fields.join(' ')} } pageInfo { hasNextPage endCursor } } } }`;
    const { drive } = (await app.http.post('/graphql').send({ query })).body.data;
    expect(drive.baselineEncountered).toMatchObject({ drivenM: '30.000', cross: { length: 5 } });
    expect((drive.baselineStrip.nodes as Body[]).map((one) => line(one, fields))).toEqual(lines.slice(3, 5));
    expect(drive.baselineStrip.pageInfo).toEqual({ hasNextPage: true, endCursor: '5' });
    const strip = await app.http.get(`${url('MET')}/ground-strip`);
    expect(
      (strip.body as Body[]).map(({ contested, ...one }) => {
        const words = contested ? Object.values(contested as object).join(' ') : '-';
        return `${line(one, ['from', 'to', 'lithology', 'notedClass', 'governingClass', 'basis', 'countersigned'])} ${words}`;
      }),
    ).toEqual([
      '2+200.000 2+190.000 rock A A A noted false -',
      '2+190.000 2+188.000 rock A A B agreed - -',
      '2+188.000 2+186.000 rock B B B agreed - -',
      '2+186.000 2+184.000 rock B B B noted false -',
      '2+184.000 2+182.000 rock B B B noted false 2 disputed A',
      '2+182.000 2+180.000 - - - - - 2 disputed A',
      '2+180.000 2+176.000 - - - - - -',
      '2+176.000 2+172.000 rock C C C noted false -',
      '2+172.000 2+170.000 rock C C C noted false 3 proposed A',
    ]);
  });

  it('can be read as of each moment', async () => {
    const { body } = await app.http.get(`${met}?asOf=${moment}`);
    expect((body.classes as Body[]).map((one) => line(one, ['groundClass', 'encounteredM']))).toEqual([
      'A 12.000',
      'B 6.000',
      'C 6.000',
      '- 6.000',
    ]);
  });

  it('has no percentages until something is driven', async () => {
    const { body } = await app.http.get(`${url()}/baselines/CONTRACT/encountered`);
    expect(body).toMatchObject({ drivenM: '0.000', cross: [] });
    const fields = ['groundClass', 'baselineM', 'baselinePercent', 'encounteredPercent', 'wholeBaselineM'];
    expect((body.classes as Body[]).map((one) => line(one, fields))).toEqual([
      'A 0.000 - - 450.000',
      'B 0.000 - - 550.000',
    ]);
  });
});
