import { aDrive, aProject } from '../../builders/project.js';
import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Expected values are worked by hand beside each case; rules: docs/calculations.md, advance by shift and day.

let app: TestApp;
let project = '';
let url: string;
let cases = 0;

beforeAll(async () => {
  app = await startApp();
});

beforeEach(() => {
  cases += 1;
  project = `P${cases}`;
  url = `/v1/projects/${project}/drives/N`;
});

afterAll(() => app.close());

const post = async (shift: ShiftBuilder, drive = url): Promise<void> => {
  const { status, text } = await app.http
    .put(`${drive}/shifts/${shift.date}/${shift.shift}`)
    .send(shift.build());
  if (status !== 201) throw new Error(text);
};

const days = async (drive = url): Promise<unknown[]> => {
  const { body } = await app.http.get(`${drive}/advance/days`);
  return (body as { productionDay: string; advanceM: string; cumulativeM: string }[]).map((day) => [
    day.productionDay,
    day.advanceM,
    day.cumulativeM,
  ]);
};

describe('a boring across the start of the production day', () => {
  it('is split by boring time, to the millimetre, and the parts sum to it', async () => {
    await aProject(app, { project, dayStart: '00:00' });
    // 23:30 to 00:30 is half and half: 1.001 m splits at 0.5005, halves up: 0.501 and 0.500.
    // 23:40 to 00:10 of the next is two thirds and one: 1.000 m splits at 0.667 and 0.333.
    await post(aShift('2027-03-01', 'night').withStroke(1, '1+200', '1+201.001', '23:30', '+1 00:30'));
    await post(aShift('2027-03-02', 'night').withStroke(2, '1+201.001', '1+202.001', '23:40', '+1 00:10'));
    expect(await days()).toEqual([
      ['2027-03-01', '0.501', '0.501'],
      ['2027-03-02', '1.167', '1.668'],
      ['2027-03-03', '0.333', '2.001'],
    ]);
  });

  it('counts in the shift as a whole, and days without boring show 0', async () => {
    await aProject(app, { project, dayStart: '06:00' });
    await post(aShift('2027-03-01', 'night').withStroke(1, '1+200', '1+201.7', '23:30', '+1 00:30'));
    await post(aShift('2027-03-03', 'day').withStroke(2, '1+201.7', '1+203', '06:00', '07:00'));
    expect(await days()).toEqual([
      ['2027-03-01', '1.700', '1.700'],
      ['2027-03-02', '0.000', '1.700'],
      ['2027-03-03', '1.300', '3.000'],
    ]);
    const { body } = await app.http.get(`${url}/advance/shifts?from=2027-03-03&to=2027-03-03`);
    expect(body).toEqual([
      {
        date: '2027-03-03',
        shift: 'day',
        state: 'draft',
        startsAt: '2027-03-03T06:00:00+00:00',
        endsAt: '2027-03-03T18:00:00+00:00',
        advanceM: '1.300',
        strokeCount: 1,
        boringHours: '1.0000',
        fromChainage: '1+201.700',
        faceChainage: '1+203.000',
        cumulativeM: '3.000',
      },
    ]);
  });
});

describe('the nights on which the clocks change in Zurich', () => {
  // Common knowledge of the IANA zone: 2027-03-28 at 02:00 to 03:00, 2027-10-31 at 03:00 to 02:00.
  it.each([
    ['2027-03-27', '660.00', 11],
    ['2027-10-30', '780.00', 13],
    ['2027-06-01', '720.00', 12],
  ])('the night shift of %s has %s minutes', async (date, minutes, hours) => {
    await aProject(app, { project, timeZone: 'Europe/Zurich', dayStart: '06:00' });
    await post(aShift(date, 'night'));
    const { body: open } = await app.http.get(`${url}/open-items`);
    expect(open).toHaveLength(1);
    expect(open[0]).toMatchObject({ kind: 'minutes_missing', missingMinutes: minutes });
    const { body: document } = await app.http.get(`${url}/shifts/${date}/night`);
    expect((Date.parse(document.endsAt) - Date.parse(document.startsAt)) / 3_600_000).toBe(hours);
  });

  it('and a day that begins at midnight is split at local midnight', async () => {
    await aProject(app, { project, timeZone: 'Europe/Zurich', dayStart: '00:00' });
    // 22:30Z is 23:30 in Zurich in winter: 30 of 60 minutes before midnight.
    const shift = aShift('2027-03-01', 'night').withStroke(1, '1+200', '1+202', '22:30', '23:30');
    await post(shift);
    expect(await days()).toEqual([
      ['2027-03-01', '1.000', '1.000'],
      ['2027-03-02', '1.000', '2.000'],
    ]);
  });
});

describe('a drive against the chainage', () => {
  it('advances in metres while the chainage of its face decreases', async () => {
    await aProject(app, { project });
    await aDrive(app, { project, drive: 'S', startChainage: '1+200', endChainage: '0+200', direction: -1 });
    const south = `/v1/projects/${project}/drives/S`;
    await post(
      aShift()
        .withStroke(1, '1+200', '1+198.3', '06:00', '07:00')
        .withStroke(2, '1+198.3', '1+196.6', '08:00', '09:00'),
      south,
    );
    expect((await app.http.get(`${south}/progress`)).body).toMatchObject({
      faceChainage: '1+196.600',
      faceM: '3.400',
      remainingM: '996.600',
      strokeCount: 2,
    });
    const query = `{ drive(project: "${project}", drive: "S") { advanceByShift { fromChainage faceChainage advanceM } strokes { nodes { number from to lengthM } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive).toEqual({
      advanceByShift: [{ fromChainage: '1+200.000', faceChainage: '1+196.600', advanceM: '3.400' }],
      strokes: {
        nodes: [
          { number: 1, from: '1+200.000', to: '1+198.300', lengthM: '1.700' },
          { number: 2, from: '1+198.300', to: '1+196.600', lengthM: '1.700' },
        ],
      },
    });
    const refused = await app.http
      .put(`${south}/shifts/2027-03-02/day`)
      .send(aShift('2027-03-02').withStroke(3, '1+196', '1+197', '06:00', '07:00').build());
    expect(refused.body.detail).toBe(
      '1+197 does not lie ahead of 1+196: the drive runs with falling chainage',
    );
  });
});

describe('a stroke that pauses and crosses the shift change', () => {
  it('is one stroke of several borings, its means weighted by length', async () => {
    await aProject(app, { project });
    await post(
      aShift()
        .withStroke(7, '1+200', '1+200.5', '17:00', '17:15', { thrustKn: 8000 })
        .withStroke(7, '1+200.5', '1+201', '17:30', '17:45', { thrustKn: 9000 }),
    );
    await post(
      aShift('2027-03-01', 'night').withStroke(7, '1+201', '1+202', '18:30', '19:00', { thrustKn: 10_000 }),
    );
    const { body } = await app.http.get(`${url}/strokes`);
    // (8000·0.5 + 9000·0.5 + 10 000·1.0)/2.0 = 9250; 15 + 15 + 30 minutes of boring.
    expect(body.items).toEqual([
      expect.objectContaining({
        number: 7,
        from: '1+200.000',
        to: '1+202.000',
        lengthM: '2.000',
        boringCount: 3,
        boringHours: '1.0000',
        thrustKn: 9250,
      }),
    ]);
    const { body: shifts } = await app.http.get(`${url}/advance/shifts`);
    expect(
      shifts.map(({ advanceM, strokeCount }: { advanceM: string; strokeCount: number }) => [
        advanceM,
        strokeCount,
      ]),
    ).toEqual([
      ['1.000', 1],
      ['1.000', 1],
    ]);
  });

  it('is reported a page at a time with the others', async () => {
    await aProject(app, { project });
    const shift = aShift();
    for (let n = 0; n < 5; n += 1)
      shift.withStroke(n, `1+20${n}`, `1+20${n + 1}`, `0${6 + n}:00`.slice(-5), `0${6 + n}:30`.slice(-5));
    await post(shift);
    const numbers = async (query: string): Promise<unknown> => {
      const { body } = await app.http.get(`${url}/strokes?${query}`);
      return [body.items.map(({ number }: { number: number }) => number), body.next];
    };
    expect(await numbers('first=2')).toEqual([[0, 1], 1]);
    expect(await numbers('first=2&after=1')).toEqual([[2, 3], 3]);
    expect(await numbers('first=2&after=3')).toEqual([[4], null]);
    expect((await app.http.get(`${url}/strokes?first=1001`)).body.errors[0]).toMatchObject({
      in: 'query',
      pointer: '/first',
    });
    expect((await app.http.get(`${url}/strokes?page=2`)).status).toBe(422);
  });
});

describe('the values stored with a stroke', () => {
  it('are those of the published table, and follow the machine when it is replaced', async () => {
    await aProject(app, { project });
    // First stroke of the open table, Erharter et al., doi 10.1007/s00603-025-04542-4: ratio 0.5026322772011032.
    const read = {
      thrustKn: 10_360.8198127451,
      torqueKnm: 1665.715616246498,
      rotationRpm: 6,
      penetrationMmPerRev: 9.809251050420169,
    };
    await post(aShift().withStroke(0, '1+200', '1+201.69', '06:00', '07:00', read));
    const ratio = async (): Promise<number> =>
      (await app.http.get(`${url}/strokes`)).body.items[0].torqueRatio as number;
    expect(await ratio()).toBeCloseTo(0.5026322772011032, 9);
    const machine = {
      name: 'Other',
      discCount: 50,
      discRadiusMm: '241.3',
      idleTorqueKnm: '0',
      torqueRatioLower: '0.35',
      torqueRatioUpper: '0.5',
    };
    expect((await app.http.put(`/v1/projects/${project}/machines/M1`).send(machine)).status).toBeLessThan(
      300,
    );
    // 1665.7156/(3313.9846 − 180): the idle torque is no longer in the theoretical torque of 3313.984580 kNm.
    expect(await ratio()).toBeCloseTo(1665.715616246498 / (3313.984580381505 - 180), 9);
    expect((await app.http.get(`${url}/strokes`)).body.items[0].regularAdvance).toBe(false);
  });
});
