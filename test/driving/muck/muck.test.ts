import { faceArea } from '../../../src/engineering/boring.js';
import { beltLoad, beltMassFlow, looseVolume, looseVolumeFlow } from '../../engineering/oracles/muck.js';
import { aProject } from '../../builders/project.js';
import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Theory against the weigher and the load on the belt; D 7.2 m, worked by hand beside each case. Rules: docs/calculations.md.

let app: TestApp;
let cases = 0;
let drive: string;
let url: string;

const P = '/v1/projects/P1';
const BELT = { name: 'Trial machine', discCount: 50, discRadiusMm: '241.3', beltCapacityTPerH: '1584' };
// 5 mm/rev at 10 rpm: 3.0 m/h.
const AT_3_M_PER_H = { penetrationMmPerRev: 5, rotationRpm: 10 };

type Row = Record<string, unknown>;

const put = async (path: string, body: object): Promise<Row> => {
  const answer = await app.http.put(`${P}${path}`).send(body);
  if (answer.status >= 300) throw new Error(answer.text);
  return answer.body as Row;
};

const putDrive = (more: object = {}): Promise<Row> =>
  put(`/drives/${drive}`, {
    name: 'Trial drive',
    startChainage: '1+200',
    endChainage: '2+200',
    direction: 1,
    boredDiameterM: '7.2',
    machine: 'M1',
    ...more,
  });

const post = async (shift: ShiftBuilder): Promise<void> => {
  const { status, text } = await app.http
    .put(`${url}/shifts/${shift.date}/${shift.shift}`)
    .send(shift.build());
  if (status !== 201) throw new Error(text);
};

/** Strokes of 1.7 m, one hour each, with these weighed masses; null: not weighed. */
const weighed = (masses: (string | null)[], means: object = AT_3_M_PER_H): ShiftBuilder => {
  const shift = aShift();
  for (const [index, muckMassT] of masses.entries()) {
    const place = (n: number): string => `1+${(200 + 1.7 * n).toFixed(3)}`;
    const hour = String(6 + index).padStart(2, '0');
    shift.withStroke(index + 1, place(index), place(index + 1), `${hour}:00`, `${hour}:34`, {
      ...means,
      ...(muckMassT === null ? {} : { muckMassT }),
    });
  }
  return shift;
};

const muck = async (): Promise<Row[]> => (await app.http.get(`${url}/muck`)).body.items as Row[];
const progress = async (): Promise<Row> => (await app.http.get(`${url}/muck/progress`)).body as Row;
const cells = (rows: Row[], ...names: string[]): unknown[][] =>
  rows.map((row) => names.map((name) => row[name]));

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await put('/machines/M1', BELT);
  await put('/ground-classes/A', { description: 'Granite', densityTPerM3: '2.65', swellPercent: '70' });
  await put('/ground-classes/B', { description: 'No figures' });
});

beforeEach(async () => {
  cases += 1;
  drive = `M${cases}`;
  url = `${P}/drives/${drive}`;
  await putDrive({ densityTPerM3: '2.7', swellPercent: '65' });
});

afterAll(() => app.close());

describe('the muck of a stroke', () => {
  it('is bored area times length, its mass by density, its loose volume by swell, its load by rate', async () => {
    await post(weighed(['186.9']));
    // 40.71504 m² · 1.7 m = 69.2156 m³ → 69.216; · 1.65 = 114.206; · 2.7 = 186.883 t; 186.9/186.883 = 1.0001.
    // 40.71504 · 3.0 · 2.7 = 329.79 t/h, 20.8 % of 1584; loose 40.71504 · 3.0 · 1.65 = 201.54 m³/h; 1584/(40.71504 · 2.7).
    const [stroke] = await muck();
    expect(stroke).toEqual({
      number: 1,
      from: '1+200.000',
      to: '1+201.700',
      lengthM: '1.700',
      groundClass: null,
      densityTPerM3: '2.700',
      densityOf: 'drive',
      swellPercent: '65.00',
      swellOf: 'drive',
      unanswered: null,
      bankVolumeM3: '69.216',
      looseVolumeM3: '114.206',
      theoreticalMassT: '186.883',
      muckMassT: '186.900',
      weighedM: '1.700',
      differenceT: '0.017',
      cumulativeDifferenceT: '0.017',
      ratio: '1.0001',
      band: 'within',
      beltFlowTPerH: expect.closeTo(329.79, 2),
      looseFlowM3PerH: expect.closeTo(201.54, 2),
      beltLoad: expect.closeTo(0.208, 3),
      haulage: 'keeps_pace',
      fullBeltRateMPerH: expect.closeTo(14.409, 3),
    });
    const area = faceArea(7.2);
    expect(stroke?.['beltFlowTPerH']).toBeCloseTo(beltMassFlow(area, 3, 2.7), 9);
    expect(stroke?.['looseFlowM3PerH']).toBeCloseTo(looseVolumeFlow(area, 3, 65), 9);
    expect(stroke?.['beltLoad']).toBeCloseTo(beltLoad(beltMassFlow(area, 3, 2.7), 1584), 12);
    expect(Number(stroke?.['looseVolumeM3'])).toBeCloseTo(looseVolume(area * 1.7, 65), 2);
  });

  it('uses density and swell of the ground class at its middle, else of the drive', async () => {
    // Middles 1+200.850 in A, 1+202.550 in B, which has no figures, 1+204.250 without a note.
    await post(
      weighed([null, null, null])
        .withGround('A', '1+200', '1+202.550')
        .withGround('B', '1+202.550', '1+204.2'),
    );
    expect(
      cells(await muck(), 'groundClass', 'densityTPerM3', 'densityOf', 'swellPercent', 'swellOf'),
    ).toEqual([
      ['A', '2.650', 'ground_class', '70.00', 'ground_class'],
      ['B', '2.700', 'drive', '65.00', 'drive'],
      [null, '2.700', 'drive', '65.00', 'drive'],
    ]);
    // 69.216 · 2.65 and 69.216 · 1.70.
    expect(cells(await muck(), 'theoreticalMassT', 'looseVolumeM3')[0]).toEqual(['183.422', '117.667']);
  });

  it('is null where density, swell, reading, weight or belt is missing, and says why', async () => {
    await putDrive({ machine: null });
    await post(weighed([null, '180'], {}).withGround('B', '1+200', '1+201.7'));
    expect(
      cells(await muck(), 'theoreticalMassT', 'looseVolumeM3', 'ratio', 'band', 'haulage', 'muckMassT'),
    ).toEqual([
      [null, null, null, null, null, null],
      [null, null, null, null, null, '180.000'],
    ]);
    const rest =
      'no flow: penetration or rotation was not read; no load on the belt: the machine gives no capacity of its belt';
    expect(cells(await muck(), 'unanswered')).toEqual([
      [
        'no mass by theory and no load on the belt: neither ground class B nor the drive gives a density; ' +
          `no loose volume: neither ground class B nor the drive gives a swell; no comparison: 0.000 of 1.700 m have a mass by the weigher; ${rest}`,
      ],
      [
        'no mass by theory and no load on the belt: no ground class is noted, and the drive gives no density; ' +
          `no loose volume: no ground class is noted, and the drive gives no swell; ${rest}`,
      ],
    ]);
    expect(await progress()).toMatchObject({
      boredM: '3.400',
      bankVolumeM3: '138.432',
      looseVolumeM3: '0.000',
      weighedMassT: '180.000',
      comparedM: '0.000',
      ratio: null,
      highestBeltLoad: null,
    });
  });

  it('is not compared where a boring was not weighed', async () => {
    await post(
      aShift()
        .withStroke(1, '1+200', '1+201', '06:00', '06:20', { muckMassT: '100' })
        .withStroke(1, '1+201', '1+201.7', '06:30', '06:45'),
    );
    expect(cells(await muck(), 'muckMassT', 'weighedM', 'ratio', 'differenceT')).toEqual([
      ['100.000', '1.000', null, null],
    ]);
    expect((await muck())[0]?.['unanswered']).toContain('1.000 of 1.700 m have a mass by the weigher');
    expect(await progress()).toMatchObject({ weighedMassT: '100.000', comparedM: '0.000' });
  });
});

describe('the band of the ratio', () => {
  // Theory 186.883 t: 0.8 of it is 149.506, 1.2 of it 224.260; to four places 149.497 is 0.7999 and 224.270 is 1.2001.
  it.each([
    ['149.497', '0.7999', 'below'],
    ['149.506', '0.8000', 'within'],
    ['224.260', '1.2000', 'within'],
    ['224.270', '1.2001', 'above'],
  ])('%s t make %s: %s', async (mass, ratio, band) => {
    await post(weighed([mass]));
    expect(cells(await muck(), 'ratio', 'band')).toEqual([[ratio, band]]);
    const counts = { aboveCount: Number(band === 'above'), belowCount: Number(band === 'below') };
    expect(await progress()).toMatchObject(counts);
  });
});

describe('the muck of the drive', () => {
  it('adds up along the strokes, without those that cannot be compared', async () => {
    await post(weighed(['190', null, '180', '250']));
    // 190 − 186.883, nothing, 180 − 186.883, 250 − 186.883.
    expect(cells(await muck(), 'differenceT', 'cumulativeDifferenceT')).toEqual([
      ['3.117', '3.117'],
      [null, '3.117'],
      ['-6.883', '-3.766'],
      ['63.117', '59.351'],
    ]);
    // 4 · 69.216 m³, 4 · 114.206 m³ loose; 620 t against 3 · 186.883 = 560.649: 1.1059.
    expect(await progress()).toEqual({
      boredM: '6.800',
      bankVolumeM3: '276.864',
      looseVolumeM3: '456.824',
      looseM: '6.800',
      weighedMassT: '620.000',
      comparedM: '5.100',
      comparedMassT: '620.000',
      theoreticalMassT: '560.649',
      differenceT: '59.351',
      ratio: '1.1059',
      aboveCount: 1,
      belowCount: 0,
      beltCapacityTPerH: '1584.000',
      highestBeltFlowTPerH: expect.closeTo(329.79, 2),
      highestBeltLoad: expect.closeTo(0.208, 3),
      limitedCount: 0,
      caution: expect.stringContaining('designer and the local code'),
    });
  });

  it('is limited by haulage from the belt’s capacity on', async () => {
    await post(weighed([null]));
    // 329.7918 t/h at 3.0 m/h.
    for (const [beltCapacityTPerH, haulage, limitedCount] of [
      ['329.792', 'keeps_pace', 0],
      ['329.791', 'limits', 1],
    ]) {
      await put('/machines/M1', { ...BELT, beltCapacityTPerH });
      expect((await muck())[0]?.['haulage']).toBe(haulage);
      expect(await progress()).toMatchObject({ limitedCount });
    }
    await put('/machines/M1', BELT);
  });

  it('starts at zero', async () => {
    expect((await app.http.get(`${url}/muck`)).body).toEqual({
      items: [],
      next: null,
      caution: expect.stringContaining('a reason to look, not a finding'),
    });
    expect(await progress()).toMatchObject({ boredM: '0.000', ratio: null, limitedCount: 0 });
  });

  it('is reported a page at a time, and the same by GraphQL', async () => {
    await post(weighed(['190', '170', '180']));
    const { body } = await app.http.get(`${url}/muck?first=1&after=1`);
    // the cumulative sum counts from the start of the drive: 3.117 − 16.883
    expect([cells(body.items, 'number', 'cumulativeDifferenceT'), body.next]).toEqual([[[2, '-13.766']], 2]);
    const names = Object.keys(body.items[0]).join(' ');
    const totals = Object.keys(await progress()).join(' ');
    const query = `{ drive(project: "P1", drive: "${drive}") { muck(first: 1, after: "1") { nodes { ${names} } caution pageInfo { hasNextPage endCursor } } muckProgress { ${totals} } } }`;
    const graphql = (await app.http.post('/graphql').send({ query })).body.data.drive;
    const { items, next, caution } = body;
    expect(graphql).toEqual({
      muck: { nodes: items, caution, pageInfo: { hasNextPage: true, endCursor: String(next) } },
      muckProgress: await progress(),
    });
    expect((await app.http.get(`${P}/drives/NOPE/muck`)).status).toBe(404);
    expect((await app.http.get(`${P}/drives/NOPE/muck/progress`)).status).toBe(404);
  });
});

describe('density, swell and belt', () => {
  it('are kept as given, and gone when no longer given', async () => {
    const full = { description: 'X', densityTPerM3: '2.65', swellPercent: '70.5' };
    expect(await put('/ground-classes/X', full)).toEqual({
      code: 'X',
      description: 'X',
      densityTPerM3: '2.650',
      swellPercent: '70.50',
    });
    expect(await put('/ground-classes/X', { description: 'X' })).toMatchObject({
      densityTPerM3: null,
      swellPercent: null,
    });
    expect(await putDrive({ densityTPerM3: '2.8', swellPercent: '0' })).toMatchObject({
      densityTPerM3: '2.800',
      swellPercent: '0.00',
    });
    expect(await putDrive()).toMatchObject({ densityTPerM3: null, swellPercent: null });
    expect(await put('/machines/M7', BELT)).toMatchObject({ beltCapacityTPerH: '1584.000' });
  });

  it.each([
    [
      '/ground-classes/X',
      { description: 'X', densityTPerM3: '0.4' },
      '/densityTPerM3',
      /from 0\.5 to 9\.999/,
    ],
    [
      '/ground-classes/X',
      { description: 'X', densityTPerM3: '2.6555' },
      '/densityTPerM3',
      /at most 3 decimals/,
    ],
    ['/ground-classes/X', { description: 'X', swellPercent: '-1' }, '/swellPercent', /from 0 to 300/],
    ['/machines/X', { ...BELT, beltCapacityTPerH: '0' }, '/beltCapacityTPerH', /from 0\.001 to 99999/],
  ])('%s with %j is refused at %s', async (path, body, pointer, detail) => {
    const before = await app.contents();
    const answer = await app.http.put(`${P}${path}`).send(body);
    expect([answer.status, answer.body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })],
    ]);
    expect(await app.contents()).toBe(before);
  });
});
