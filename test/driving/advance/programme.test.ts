import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A programme worked by hand: it advances by 10 m per day, pauses for four days, then advances by 20 m per day.

const POINTS = [
  { date: '2027-03-01', chainage: '1+200' },
  { date: '2027-03-11', chainage: '1+300' },
  { date: '2027-03-15', chainage: '1+300' },
  { date: '2027-03-25', chainage: '1+500' },
];

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { dayStart: '06:00' });
  await aDrive(app, { drive: 'S', startChainage: '1+200', endChainage: '0+200', direction: -1 });
});

afterAll(() => app.close());

const url = '/v1/projects/P1/drives/N/programmes';

const put = async (name: string, points: unknown, drive = url) =>
  app.http.put(`${drive}/${name}`).send({ points } as object);

/** Bored from 08:00 to 09:00 of each day, up to this position. */
const bore = async (drive: string, days: [date: string, face: number][]): Promise<void> => {
  let from = 0;
  for (const [index, [date, to]] of days.entries()) {
    await app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
       select id, $2, $3, $4, $5::timestamptz, $5::timestamptz + interval '1 hour' from drive where code = $1`,
      [drive, index, from, to, `${date}T08:00:00Z`],
    );
    from = to;
  }
};

describe('a programme', () => {
  it('is put, read and listed', async () => {
    const programme = {
      programme: 'CONTRACT-2',
      pointCount: 4,
      firstDay: '2027-03-01',
      lastDay: '2027-03-25',
      fromChainage: '1+200.000',
      toChainage: '1+500.000',
      points: [
        { date: '2027-03-01', chainage: '1+200.000' },
        { date: '2027-03-11', chainage: '1+300.000' },
        { date: '2027-03-15', chainage: '1+300.000' },
        { date: '2027-03-25', chainage: '1+500.000' },
      ],
    };
    const { status, body } = await put('CONTRACT-2', POINTS);
    expect([status, body]).toEqual([201, programme]);
    expect((await app.http.get(`${url}/CONTRACT-2`)).body).toEqual(programme);
    expect((await app.http.get(url)).body).toEqual([{ ...programme, points: undefined }]);
    const query = `{ drive(project: "P1", drive: "N") {
      programmes { programme toChainage } programme(programme: "CONTRACT-2") { points { date } }
      programmeProgress(programme: "CONTRACT-2") { productionDay plannedM } } }`;
    const { body: answer } = await app.http.post('/graphql').send({ query });
    expect(answer.data.drive.programmes).toEqual([{ programme: 'CONTRACT-2', toChainage: '1+500.000' }]);
    expect(answer.data.drive.programme.points).toHaveLength(4);
    expect(answer.data.drive.programmeProgress).toHaveLength(25);
    expect(answer.data.drive.programmeProgress[3]).toEqual({
      productionDay: '2027-03-04',
      plannedM: '30.000',
    });
  });

  it('is in the history, with who and why', async () => {
    await app.http.put(`${url}/WHY`).set('X-Reason', 'revised in March').send({ points: POINTS });
    await app.http.delete(`${url}/WHY`).set('X-Reason', 'withdrawn');
    const { body } = await app.http.get('/v1/projects/P1/changes?first=1000');
    const entry = { actor: 'local', tables: ['programme_point'] };
    expect(body.items.slice(-2)).toMatchObject([
      { ...entry, reason: 'revised in March' },
      { ...entry, reason: 'withdrawn' },
    ]);
  });

  it('replaces the previous one as a whole; the same content again is no change', async () => {
    const changes = async (): Promise<unknown> => {
      const [row] = await app.sql<{ n: number }>('select count(*)::int as n from history.change');
      return row?.n;
    };
    const one = [POINTS[0], POINTS[1], { date: '2027-03-20', chainage: '1+400' }];
    await put('MOVED', POINTS);
    expect((await put('MOVED', one)).body.points).toEqual([
      { date: '2027-03-01', chainage: '1+200.000' },
      { date: '2027-03-11', chainage: '1+300.000' },
      { date: '2027-03-20', chainage: '1+400.000' },
    ]);
    const before = await changes();
    expect((await put('MOVED', one)).status).toBeLessThan(300);
    expect(await changes()).toBe(before);
    const other = [POINTS[0], { date: '2027-03-11', chainage: '1+290' }];
    expect((await put('MOVED', other)).body.points.at(-1)).toEqual({
      date: '2027-03-11',
      chainage: '1+290.000',
    });
    // by GraphQL, then removed
    const mutation = `mutation ($input: ProgrammeInput!) { putProgramme(project: "P1", drive: "N", programme: "MOVED", input: $input) { pointCount } }`;
    const { body } = await app.http
      .post('/graphql')
      .send({ query: mutation, variables: { input: { points: POINTS } } });
    expect(body.data.putProgramme).toEqual({ pointCount: 4 });
    expect((await app.http.delete(`${url}/MOVED`)).status).toBe(204);
    for (const answer of [
      await app.http.get(`${url}/MOVED`),
      await app.http.get(`${url}/MOVED/progress`),
      await app.http.delete(`${url}/MOVED`),
    ])
      expect([answer.status, answer.body.detail]).toEqual([404, 'There is no programme MOVED in drive N.']);
  });
});

describe('plan against actual', () => {
  const read = async (drive: string, name: string): Promise<Map<string, unknown[]>> => {
    const { body } = await app.http.get(`/v1/projects/P1/drives/${drive}/programmes/${name}/progress`);
    return new Map(
      (body as Record<string, string>[]).map((day) => [
        day['productionDay'] ?? '',
        [day['plannedM'], day['actualM'], day['aheadM'], day['aheadDays']],
      ]),
    );
  };

  it('agrees with the figures worked by hand, day by day', async () => {
    await bore('N', [
      ['2027-02-27', 0.5],
      ['2027-03-01', 5],
      ['2027-03-02', 8],
      ['2027-03-04', 50],
      ['2027-03-12', 100],
      ['2027-03-17', 150],
      ['2027-03-18', 152.345],
    ]);
    await put('BASE', POINTS);
    const days = await read('N', 'BASE');
    expect([...days.keys()].length).toBe(27); // 27 February to 25 March
    const expected: [string, (string | null)[]][] = [
      ['2027-02-27', [null, '0.500', null, '2.05']], // 0.5 m is planned for 1 March + 0.05 d
      ['2027-02-28', [null, '0.500', null, '1.05']],
      ['2027-03-01', ['0.000', '5.000', '5.000', '0.50']],
      ['2027-03-02', ['10.000', '8.000', '-2.000', '-0.20']],
      ['2027-03-03', ['20.000', '8.000', '-12.000', '-1.20']],
      ['2027-03-04', ['30.000', '50.000', '20.000', '2.00']],
      ['2027-03-09', ['80.000', '50.000', '-30.000', '-3.00']],
      ['2027-03-11', ['100.000', '50.000', '-50.000', '-5.00']],
      ['2027-03-12', ['100.000', '100.000', '0.000', '0.00']], // while the plan pauses
      ['2027-03-15', ['100.000', '100.000', '0.000', '0.00']],
      ['2027-03-16', ['120.000', '100.000', '-20.000', '-1.00']], // a day after it resumed
      ['2027-03-17', ['140.000', '150.000', '10.000', '0.50']],
      ['2027-03-18', ['160.000', '152.345', '-7.655', '-0.38']], // 7.655/20 = 0.38275
      ['2027-03-19', ['180.000', null, null, null]],
      ['2027-03-25', ['300.000', null, null, null]],
    ];
    expect(expected.map(([day]) => [day, days.get(day)])).toEqual(expected);
    const { body } = await app.http.get(`${url}/BASE/progress`);
    expect(body.at(-8)).toEqual({
      productionDay: '2027-03-18',
      plannedM: '160.000',
      plannedChainage: '1+360.000',
      actualM: '152.345',
      actualChainage: '1+352.345',
      aheadM: '-7.655',
      aheadDays: '-0.38',
    });
  });

  it('has nulls beyond the ends of the programme, and is reported on a drive against the chainage too', async () => {
    await bore('S', [
      ['2027-03-02', 4],
      ['2027-03-03', 9],
      ['2027-03-04', 20],
      ['2027-03-08', 31],
    ]);
    const south = '/v1/projects/P1/drives/S/programmes';
    // from 5 m on 3 March by 5 m a day to 20 m on 6 March; a third of a millimetre is rounded: 5 + 10/3 · n in the other one
    await put(
      'A',
      [
        { date: '2027-03-03', chainage: '1+195' },
        { date: '2027-03-06', chainage: '1+180' },
      ],
      south,
    );
    await put(
      'B',
      [
        { date: '2027-03-01', chainage: '1+200' },
        { date: '2027-03-04', chainage: '1+190' },
      ],
      south,
    );
    expect([...(await read('S', 'A'))]).toEqual([
      ['2027-03-02', [null, '4.000', null, null]],
      ['2027-03-03', ['5.000', '9.000', '4.000', '0.80']],
      ['2027-03-04', ['10.000', '20.000', '10.000', '2.00']],
      ['2027-03-05', ['15.000', '20.000', '5.000', '1.00']],
      ['2027-03-06', ['20.000', '20.000', '0.000', '0.00']],
      ['2027-03-07', [null, '20.000', null, '-1.00']],
      ['2027-03-08', [null, '31.000', null, null]],
    ]);
    // before its first day the programme is at its first point
    await put(
      'C',
      [
        { date: '2027-03-03', chainage: '1+196' },
        { date: '2027-03-05', chainage: '1+186' },
      ],
      south,
    );
    expect([...(await read('S', 'C'))].slice(0, 3)).toEqual([
      ['2027-03-02', [null, '4.000', null, '0.00']],
      ['2027-03-03', ['4.000', '9.000', '5.000', '1.00']],
      ['2027-03-04', ['9.000', '20.000', '11.000', null]],
    ]);
    const planned = [...(await read('S', 'B'))].slice(0, 4).map(([day, [m, actual]]) => [day, m, actual]);
    expect(planned).toEqual([
      ['2027-03-01', '0.000', '0.000'], // before the record's first day
      ['2027-03-02', '3.333', '4.000'],
      ['2027-03-03', '6.667', '9.000'],
      ['2027-03-04', '10.000', '20.000'],
    ]);
  });

  it('has no actual where there is no record', async () => {
    await aDrive(app, { drive: 'E' });
    await put('A', POINTS.slice(0, 2), '/v1/projects/P1/drives/E/programmes');
    const days = await read('E', 'A');
    expect(days.get('2027-03-02')).toEqual(['10.000', null, null, null]);
  });
});

describe('bad input', () => {
  let before: string;

  beforeAll(async () => {
    before = await app.contents();
  });

  afterEach(async () => expect(await app.contents()).toBe(before));

  const [first, second] = POINTS;

  it.each<[string, unknown, string, RegExp]>([
    ['no points', undefined, '/points', /points is missing/],
    ['points of another form', 'none', '/points', /points must be/],
    ['no point', [], '/points', /a programme must have at least two points/],
    ['one point', [first], '/points', /a programme must have at least two points/],
    ['a point without a date', [first, { chainage: '1+300' }], '/points/1/date', /date is missing/],
    [
      'an invalid date',
      [first, { date: '2027-02-29', chainage: '1+300' }],
      '/points/1/date',
      /date must be a day of the calendar/,
    ],
    [
      'a moment for a date',
      [first, { date: '2027-03-11T06:00:00Z', chainage: '1+300' }],
      '/points/1/date',
      /date must be a date/,
    ],
    [
      'a chainage in words',
      [first, { date: '2027-03-11', chainage: 'end' }],
      '/points/1/chainage',
      /chainage must be a chainage/,
    ],
    ['an unknown field', [first, { ...second, metres: 5 }], '/points/1/metres', /metres should not exist/],
    [
      'a day twice',
      [first, { ...second, date: '2027-03-01' }],
      '/points/1/date',
      /^2027-03-01 does not come after 2027-03-01$/,
    ],
    ['days out of order', [second, first], '/points/1/date', /^2027-03-01 does not come after 2027-03-11$/],
    [
      'going back',
      [first, second, { date: '2027-03-12', chainage: '1+299.999' }],
      '/points/2/chainage',
      /^1\+299\.999 lies behind 1\+300: the drive runs with rising chainage$/,
    ],
    [
      'beyond the drive',
      [first, { ...second, chainage: '2+200.001' }],
      '/points/1/chainage',
      /2\+200\.001 lies beyond the end of the drive/,
    ],
    [
      'behind its start',
      [{ ...first, chainage: '1+199' }, second],
      '/points/0/chainage',
      /1\+199\.000 lies behind the start of the drive/,
    ],
    [
      'a century',
      [first, { ...second, date: '2127-03-11' }],
      '/points/1/date',
      /2127-03-11 lies more than 30 years after 2027-03-01/,
    ],
    [
      '1001 points',
      Array.from({ length: 1001 }, () => first),
      '/points',
      /points must contain no more than 1000 elements/,
    ],
  ])('%s is refused', async (_, points, pointer, detail) => {
    const { status, body } = await put('BASE', points);
    expect(status).toBe(422);
    expect(body.errors).toContainEqual(
      expect.objectContaining({ in: 'body', pointer, detail: expect.stringMatching(detail) }),
    );
  });

  it('an invalid name, and a drive that does not exist, are reported', async () => {
    const { status, body } = await put('a%20b', POINTS);
    expect([status, body.errors[0].pointer]).toEqual([422, '/programme']);
    const answer = await put('A', POINTS, '/v1/projects/P1/drives/NONE/programmes');
    expect([answer.status, answer.body.detail]).toEqual([404, 'There is no drive NONE in project P1.']);
  });
});

describe('the database', () => {
  const refusal = async (sql: string): Promise<string> =>
    app.sql(`begin; ${sql}; set constraints all immediate; rollback`).then(
      () => 'taken',
      async (error: Error & { constraint?: string }) => `${error.constraint}: ${error.message}`,
    );
  const point = (day: string, m: number): string =>
    `insert into programme_point (drive_id, programme, planned_day, planned_m) select id, 'BASE', '${day}', ${m} from drive where code = 'N'`;
  const PROGRAMME = `where programme = 'BASE'`;

  it.each([
    [
      point('2027-03-12', 99.999),
      'programme_rises: programme BASE goes back from 1+300.000 on 2027-03-11 to 1+299.999 on 2027-03-12',
    ],
    [
      point('2027-03-10', 100.001),
      'programme_rises: programme BASE goes back from 1+300.001 on 2027-03-10 to 1+300.000 on 2027-03-11',
    ],
    [
      `update programme_point set planned_m = 90 ${PROGRAMME} and planned_day = '2027-03-15'`,
      'programme_rises: programme BASE goes back from 1+300.000 on 2027-03-11 to 1+290.000 on 2027-03-15',
    ],
    [point('2027-04-01', 1000.001), 'within_drive: 2+200.001 lies beyond the end of the drive at 2+200.000'],
    [
      point('2027-02-01', -1),
      'programme_point_place: new row for relation "programme_point" violates check constraint "programme_point_place"',
    ],
    [
      `update drive set start_chainage_m = 1201 where code = 'E'`,
      'drive_start_fixed: start chainage and direction cannot change: the drive has a programme',
    ],
    [
      `update drive set end_chainage_m = 1299.999 where code = 'E'`,
      'drive_end_behind_programme: the drive cannot end before 1+300.000, which a programme reaches',
    ],
    [`update drive set end_chainage_m = 1300 where code = 'E'`, 'taken'],
    [point('2027-03-13', 100), 'taken'],
    // moved together they keep their order
    [`update programme_point set planned_m = planned_m + 1 ${PROGRAMME}`, 'taken'],
  ])('%s: %s', async (sql, said) => {
    expect(await refusal(sql)).toBe(said);
  });

  it('serialises two that replace one programme at once', async () => {
    const plans = [0, 1].map((i) => [first(i), { date: `2027-05-0${2 + i}`, chainage: `1+30${i}` }]);
    for (let round = 0; round < 5; round += 1) {
      await Promise.all(plans.map((points) => put('RACE', points)));
      const { body } = await app.http.get(`${url}/RACE`);
      expect(plans.map((points) => points.map(({ date }) => date))).toContainEqual(
        body.points.map(({ date }: { date: string }) => date),
      );
      await app.http.delete(`${url}/RACE`);
    }
  });

  const first = (i: number) => ({ date: `2027-04-0${1 + i}`, chainage: '1+200' });
});
