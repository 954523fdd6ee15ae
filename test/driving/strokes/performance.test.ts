import { aDrive, aProject } from '../../builders/project.js';
import { aShift, at, type ShiftBuilder } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { upload } from './tables.js';

// Performance of each stroke and the time to the next, worked by hand beside each case; rules: docs/calculations.md, a stroke's times.

let app: TestApp;
/** The drive of the current case, and its address. */
let drive: string;
let url: string;
let cases = 0;

const P = '/v1/projects/P1';

const READ = { thrustKn: 12_000, torqueKnm: 2000, rotationRpm: 6, penetrationMmPerRev: 8 };

const post = async (shift: ShiftBuilder): Promise<void> => {
  const { status, text } = await app.http
    .put(`${url}/shifts/${shift.date}/${shift.shift}`)
    .send(shift.build());
  if (status !== 201) throw new Error(text);
};

type Row = Record<string, unknown> & { number: number };

const strokes = async (query = ''): Promise<Row[]> =>
  (await app.http.get(`${url}/strokes/performance${query}`)).body.items as Row[];

const column = async (...names: string[]): Promise<unknown[]> =>
  (await strokes()).map((row) => [row.number, ...names.map((name) => row[name])]);

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const code = { description: 'Regripping', countsAs: 'regripping' };
  expect((await app.http.put(`${P}/activity-codes/REGRIP`).send(code)).status).toBeLessThan(300);
});

beforeEach(async () => {
  cases += 1;
  drive = `T${cases}`;
  url = `${P}/drives/${drive}`;
  await aDrive(app, { drive });
});

afterAll(() => app.close());

describe('a stroke', () => {
  it('shows power, indices and both rates', async () => {
    await post(aShift().withStroke(1, '1+200', '1+201.7', '06:00', '06:30', READ));
    const [stroke] = await strokes();
    // 8·6·60/1000 m/h; 1.7 m in half an hour; 2π·6·2000/60 kW; 2000/8; 12 000/50/8.
    expect(stroke).toMatchObject({
      number: 1,
      from: '1+200.000',
      boringHours: '0.5000',
      penetrationRateMPerH: 2.88,
      timedPenetrationRateMPerH: 3.4,
      torquePenetrationIndex: 250,
      fieldPenetrationIndex: 30,
      regripMinutes: null,
      cycleMinutes: null,
      groundClass: null,
    });
    expect(stroke?.['powerKw']).toBeCloseTo(1256.637, 3);
  });

  it('weights its power by length and its clock by time', async () => {
    await post(
      aShift()
        .withStroke(1, '1+200', '1+200.5', '06:00', '06:15', { ...READ, torqueKnm: 1000 })
        .withStroke(1, '1+200.5', '1+202', '06:30', '07:00', READ),
    );
    const [stroke] = await strokes();
    // Power 628.319 over 0.5 m and 1256.637 over 1.5 m; 2.0 m in 45 min; TPI (125·0.5 + 250·1.5)/2.
    expect(stroke?.['powerKw']).toBeCloseTo((628.3185 * 0.5 + 1256.6371 * 1.5) / 2, 3);
    expect(stroke?.['timedPenetrationRateMPerH']).toBeCloseTo(2 / 0.75, 11);
    expect(stroke?.['torquePenetrationIndex']).toBe(218.75);
  });

  it('has the ground class noted at its middle', async () => {
    // Middles at 1+200.850, 1+202.550 and 1+204.250; B begins at the second, nothing is noted at the third.
    const shift = aShift().withGround('A', '1+200', '1+202.550').withGround('B', '1+202.550', '1+204.250');
    for (const [index, from] of ['1+200', '1+201.7', '1+203.4'].entries())
      shift.withStroke(
        index,
        from,
        ['1+201.7', '1+203.4', '1+205.1'][index] ?? '',
        `0${6 + index}:00`,
        `0${6 + index}:30`,
      );
    await post(shift);
    expect(await column('groundClass')).toEqual([
      [0, 'A'],
      [1, 'B'],
      [2, null],
    ]);
  });

  it('is reported a page at a time, by GraphQL too', async () => {
    const shift = aShift();
    for (let n = 0; n < 4; n += 1)
      shift.withStroke(n, `1+20${n}`, `1+20${n + 1}`, `0${6 + n}:00`, `0${6 + n}:30`);
    await post(shift);
    const { body } = await app.http.get(`${url}/strokes/performance?first=2&after=0`);
    expect(body.items.map(({ number }: Row) => number)).toEqual([1, 2]);
    expect(body.next).toBe(2);
    const query = `{ drive(project: "P1", drive: "${drive}") { strokePerformance(first: 2, after: "0") { pageInfo { hasNextPage endCursor } nodes { number from lengthM cycleMinutes timedPenetrationRateMPerH } } } }`;
    const graphql = (await app.http.post('/graphql').send({ query })).body.data.drive.strokePerformance;
    expect(graphql.pageInfo).toEqual({ hasNextPage: true, endCursor: '2' });
    for (const [index, item] of graphql.nodes.entries()) expect(body.items[index]).toMatchObject(item);
    expect((await app.http.get(`${url}/strokes/performance?first=0`)).status).toBe(422);
    expect((await app.http.get(`${P}/drives/NOPE/strokes/performance`)).status).toBe(404);
  });
});

describe('the time after a stroke', () => {
  it('is the time booked as regripping and the time to the next start', async () => {
    await post(
      aShift()
        .withStroke(1, '1+200', '1+201.7', '06:00', '06:30')
        .withActivity('REGRIP', '06:30', '06:38')
        // after stroke 2: 7 min of regripping, maintenance, 5 min not booked
        .withStroke(2, '1+201.7', '1+203.4', '06:38', '07:08')
        .withActivity('REGRIP', '07:08', '07:15')
        .withActivity('MAINT', '07:15', '08:00')
        // after stroke 3: 10 min not booked
        .withStroke(3, '1+203.4', '1+205.1', '08:05', '08:35')
        // stroke 4 pauses; regripping booked within it is not between strokes
        .withStroke(4, '1+205.1', '1+206', '08:45', '09:00')
        .withActivity('REGRIP', '09:00', '09:02')
        .withStroke(4, '1+206', '1+206.8', '09:10', '09:25')
        // booked from before the end of stroke 4 until after the start of stroke 5: only the 5 min between count
        .withActivity('REGRIP', '09:20', '09:40')
        .withStroke(5, '1+206.8', '1+208.5', '09:30', '10:00')
        // 1 m is missing before stroke 6
        .withActivity('REGRIP', '10:00', '10:10')
        .withStroke(6, '1+209.5', '1+211.2', '10:10', '10:40'),
    );
    expect(await column('regripMinutes', 'cycleMinutes')).toEqual([
      [1, '8.00', '38.00'],
      [2, '7.00', '87.00'],
      [3, null, '40.00'],
      [4, '5.00', '45.00'],
      [5, null, null],
      [6, null, null],
    ]);
  });

  it('extends into the adjoining shift, and no further', async () => {
    await post(
      aShift().withStroke(1, '1+200', '1+201.7', '17:20', '17:50').withActivity('REGRIP', '17:50', '18:00'),
    );
    await post(
      aShift('2027-03-01', 'night')
        .withActivity('REGRIP', '18:00', '18:05')
        .withStroke(2, '1+201.7', '1+203.4', '18:05', '18:35')
        .withActivity('REGRIP', '18:35', '18:50'),
    );
    await post(
      aShift('2027-03-02', 'night')
        .withActivity('REGRIP', '18:00', '18:10')
        .withStroke(3, '1+203.4', '1+205.1', '18:10', '18:40'),
    );
    // 10 + 5 min; the day shift of 2 March lies between strokes 2 and 3: 18:05 to 18:10 of the next day is 24 h 5 min.
    expect(await column('regripMinutes', 'cycleMinutes')).toEqual([
      [1, '15.00', '45.00'],
      [2, null, '1445.00'],
      [3, null, null],
    ]);
  });

  it('is unknown for strokes without times', async () => {
    const file =
      'No,From,To,Start,End\n1,0,1.7,,\n2,1.7,3.4,2027-03-01T06:00:00Z,2027-03-01T06:30:00Z\n3,3.4,5.1,2027-03-01T06:45:00Z,2027-03-01T07:15:00Z\n4,5.1,6.8,,\n';
    const map = { number: 'No', fromM: 'From', toM: 'To', startedAt: 'Start', endedAt: 'End' };
    expect((await upload(app, { file, map, url: `${url}/strokes` })).status).toBe(200);
    expect(await column('cycleMinutes', 'regripMinutes', 'timedPenetrationRateMPerH')).toEqual([
      [1, null, null, null],
      [2, '45.00', null, 3.4],
      [3, null, null, 3.4],
      [4, null, null, null],
    ]);
  });
});

describe('a stroke with a part without times', () => {
  it('takes its rate by the clock from the other part, and has no cycle', async () => {
    const map = { number: 'No', fromM: 'From', toM: 'To' };
    const taken = await upload(app, { file: 'No,From,To\n1,0,1\n', map, url: `${url}/strokes` });
    expect(taken.status).toBe(200);
    await post(
      aShift()
        .withStroke(1, '1+201', '1+201.7', '06:00', '06:30')
        .withActivity('REGRIP', '06:30', '06:40')
        .withStroke(2, '1+201.7', '1+203.4', '06:40', '07:10'),
    );
    // 0.7 m in half an hour; the start of stroke 1 is unknown.
    expect(await column('timedPenetrationRateMPerH', 'cycleMinutes', 'regripMinutes')).toEqual([
      [1, 1.4, null, null],
      [2, 3.4, null, null],
    ]);
  });
});

describe('the flags', () => {
  const RATED = {
    name: 'Trial machine',
    discCount: 50,
    discRadiusMm: '241.3',
    ratedDiscLoadKn: '240',
    ratedThrustKn: '12000',
    ratedTorqueKnm: '1500',
    installedPowerKw: '942.478',
    strokeLengthM: '1.7',
  };
  const MEANS = { ...READ, torqueKnm: 1500 };

  // 1.7 m at 8 mm/rev and 6 rpm take 2125 s: 8·6·60/1000 = 2.88 m/h = 1.7·3600/2125.
  const stroke = (seconds = 2125, means: object = MEANS): ShiftBuilder =>
    aShift().withStroke(1, '1+200', '1+201.7', '06:00', '06:30', {
      ...means,
      endedAt: new Date(Date.parse(at('2027-03-01', '06:00')) + seconds * 1000).toISOString(),
    });

  const flagged = async (): Promise<Row[]> => (await app.http.get(`${url}/strokes/flags`)).body as Row[];

  const rate = async (change: object): Promise<void> => {
    expect((await app.http.put(`${P}/machines/M1`).send({ ...RATED, ...change })).status).toBeLessThan(300);
  };

  it('are not raised where each figure is at its limit', async () => {
    await rate({});
    await post(stroke());
    expect(await flagged()).toEqual([]);
  });

  // Each limit lowered by the smallest step: 12 000/50 kN a disc, 2π·6·1500/60 = 942.4778 kW.
  it.each([
    [
      'thrust_per_disc_above_rating',
      { ratedDiscLoadKn: '239.999' },
      [240, 239.999, 'kN'],
      'stroke 1: 240 kN a disc, above its rated load of 239.999 kN; a mean over the head, gauge and centre discs may be above it',
    ],
    [
      'thrust_above_rating',
      { ratedThrustKn: '11999.999' },
      [12_000, 11_999.999, 'kN'],
      'stroke 1: thrust 12000 kN exceeds the limit of 11999.999 kN',
    ],
    [
      'torque_above_rating',
      { ratedTorqueKnm: '1499.999' },
      [1500, 1499.999, 'kNm'],
      'stroke 1: torque 1500 kNm exceeds the limit of 1499.999 kNm',
    ],
    [
      'power_above_installed',
      { installedPowerKw: '942.477' },
      [942.4778, 942.477, 'kW'],
      'stroke 1: torque and rotation make 942.478 kW, above the installed 942.477 kW',
    ],
    [
      'stroke_longer_than_machine',
      { strokeLengthM: '1.699' },
      [1.7, 1.699, 'm'],
      'stroke 1: 1.7 m long, longer than a full stroke of 1.699 m',
    ],
  ])('%s is raised just beyond the limit', async (flag, change, [measured, limit, unit], detail) => {
    await rate(change);
    await post(stroke());
    const found = await flagged();
    expect(found).toEqual([
      {
        number: 1,
        from: '1+200.000',
        to: '1+201.700',
        flag,
        measured: expect.closeTo(Number(measured), 4),
        limit,
        unit,
        detail,
      },
    ]);
  });

  // 2.88 m/h against 1.1·1.7·3600/t and 0.9·1.7·3600/t: equal at 2337.5 and 1912.5 s.
  it.each([
    [2337, []],
    [
      2338,
      [
        'stroke 1: penetration and rotation make 2.88 m/h, above the 2.879 m/h that length and boring time allow',
      ],
    ],
    [1913, []],
    [
      1912,
      [
        'stroke 1: penetration and rotation make 2.88 m/h, below the 2.881 m/h that length and boring time allow',
      ],
    ],
  ])('rates_differ after %d s: %j', async (seconds, details) => {
    await rate({});
    await post(stroke(seconds));
    const found = await flagged();
    expect(found.map(({ detail }) => detail)).toEqual(details);
    expect(found.map(({ flag, unit }) => [flag, unit])).toEqual(details.map(() => ['rates_differ', 'm/h']));
  });

  it('use the boring with the highest reading, and the length of the whole stroke', async () => {
    await rate({ strokeLengthM: '1.6' });
    // 1.2 m and 0.5 m in the time that 8 mm/rev at 6 rpm need: 1500 and 625 s. Mean torque (1400·1.2 + 1501·0.5)/1.7 < 1500.
    const [second, third] = ['2027-03-01T06:25:00Z', '2027-03-01T07:10:25Z'];
    await post(
      aShift()
        .withStroke(1, '1+200', '1+201.2', '06:00', '07:00', { ...MEANS, torqueKnm: 1400, endedAt: second })
        .withStroke(1, '1+201.2', '1+201.7', '07:00', '08:00', { ...MEANS, torqueKnm: 1501, endedAt: third }),
    );
    expect((await flagged()).map(({ flag, measured }) => [flag, measured])).toEqual([
      ['power_above_installed', expect.closeTo(943.106, 3)],
      ['stroke_longer_than_machine', 1.7],
      ['torque_above_rating', 1501],
    ]);
  });

  it('are raised where metres were bored at zero penetration, and not where nothing was read', async () => {
    await rate({});
    await post(stroke(2125, { ...MEANS, penetrationMmPerRev: 0 }));
    expect((await flagged()).map(({ flag, measured }) => [flag, measured])).toEqual([['rates_differ', 0]]);
    await post(aShift('2027-03-02').withStroke(2, '1+201.7', '1+203.4', '06:00', '07:00'));
    expect(await flagged()).toHaveLength(1);
  });

  it('are not raised without a rating, and are the same by GraphQL', async () => {
    await post(stroke());
    const { name, discCount, discRadiusMm } = RATED;
    const unrated = { name, discCount, discRadiusMm };
    expect((await app.http.put(`${P}/machines/M1`).send(unrated)).status).toBeLessThan(300);
    expect(await flagged()).toEqual([]);
    await rate({ ratedTorqueKnm: '1000', strokeLengthM: '1' });
    const query = `{ drive(project: "P1", drive: "${drive}") { strokeFlags { number from to flag measured limit unit detail } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive.strokeFlags).toEqual(await flagged());
    expect(body.data.drive.strokeFlags).toHaveLength(2);
  });
});
