import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { app, drive, url, ownDrives, toDrive } from '../../harness/own-drives.js';
import { describeOnce, itOnce, runs } from '../../harness/sizes.js';

// Inflow as measured, and its totals. Worked by hand beside each case, and against a second implementation, metre by metre.

type Row = Record<string, unknown>;

const put = (name: string, body: object) => app.http.put(`${url}/inflow-measurements/${name}`).send(body);

const measured = async (name: string, body: object): Promise<Row> => {
  const { status, body: answer, text } = await put(name, { method: 'bucket', measuredAt: at(1), ...body });
  if (status >= 300) throw new Error(text);
  return answer as Row;
};

const over = (name: string, from: string, to: string, flow: string, day: number): Promise<Row> =>
  measured(name, { place: 'interval', from, to, flowLPerMin: flow, measuredAt: at(day) });

const at = (day: number): string => `2026-03-${String(day).padStart(2, '0')}T10:00:00+00:00`;

const limits = async (validFrom: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(`${url}/water-limits/${validFrom}`).send(body);
  if (status >= 300) throw new Error(text);
};

const read = async <T = Row[]>(path: string): Promise<T> => {
  const { status, body, text } = await app.http.get(`${url}/${path}`);
  if (status !== 200) throw new Error(text);
  return body as T;
};

const cells = (rows: Row[], ...names: string[]): unknown[][] =>
  rows.map((row) => names.map((name) => row[name]));

/** The face, without a shift. */
const faceAt = (m: number) =>
  app.sql(
    `insert into boring (drive_id, project_id, stroke_number, from_m, to_m) select id, project_id, 1, 0, $2 from drive where code = $1`,
    [drive, m],
  );

ownDrives('W');

beforeEach(() => toDrive(`${drive}L`, { startChainage: '1+150', endChainage: '2+150' }));

describe('a measurement', () => {
  itOnce('is put, read, replaced and removed', async () => {
    const body = {
      place: 'portal',
      method: 'weir',
      measuredAt: at(3),
      flowLPerMin: '140.5',
      serviceWaterLPerMin: '20',
      measuredBy: 'B. Surveyor',
      remark: 'after rain',
    };
    expect((await put('P-1', body)).status).toBe(201);
    const stored = {
      ...body,
      name: 'P-1',
      flowLPerMin: '140.500',
      serviceWaterLPerMin: '20.000',
      inflowLPerMin: '120.500',
    };
    expect(await read('inflow-measurements/P-1')).toMatchObject(stored);
    await over('P-1', '1+200', '1+210', '4', 3); // replaces everything
    expect(await read('inflow-measurements/P-1')).toMatchObject({
      place: 'interval',
      from: '1+200.000',
      to: '1+210.000',
      serviceWaterLPerMin: null,
      remark: null,
    });
    expect((await app.http.delete(`${url}/inflow-measurements/P-1`)).status).toBe(204);
    expect((await app.http.get(`${url}/inflow-measurements/P-1`)).status).toBe(404);
  });

  itOnce('is listed by time, a page at a time', async () => {
    for (const [name, day] of [
      ['B', 2],
      ['A', 2],
      ['C', 1],
    ] as const)
      await over(name, '1+200', '1+210', '1', day);
    const page = await read<{ items: Row[]; next: string }>('inflow-measurements?first=2');
    expect([cells(page.items, 'name'), page.next]).toEqual([
      [['C'], ['A']],
      expect.stringMatching(/^\d{4}-\d\d-\d\dT[\d:.]+Z~A$/),
    ]);
    const { items } = await read<{ items: Row[] }>(`inflow-measurements?first=2&after=${page.next}`);
    expect(cells(items, 'name')).toEqual([['B']]);
  });

  itOnce.each([
    ['an interval without an end', { to: undefined }, '/to', 'a measurement of place interval needs to'],
    ['an end before the start', { to: '1+190' }, '/to', 'does not lie ahead of'],
    [
      'a start outside of the drive',
      { from: '1+100' },
      '/from',
      'lies behind the start of the drive at 1+150.000',
    ],
    [
      'a hole of an interval',
      { hole: 'H1' },
      '/hole',
      'hole is for place hole; this measurement is of place interval',
    ],
    [
      'a hole without a name',
      { place: 'hole', from: undefined, to: undefined },
      '/hole',
      'a measurement of place hole needs hole',
    ],
    [
      'service water of an interval',
      { serviceWaterLPerMin: '1' },
      '/serviceWaterLPerMin',
      'is for place portal',
    ],
    [
      'more service water than flow',
      { place: 'portal', from: undefined, to: undefined, serviceWaterLPerMin: '5.001' },
      '/serviceWaterLPerMin',
      'serviceWaterLPerMin 5.001 is more than flowLPerMin 5, which contains it',
    ],
    ['a negative flow', { flowLPerMin: '-1' }, '/flowLPerMin', 'flowLPerMin'],
    ['a method of no meaning', { method: 'nose' }, '/method', 'method'],
    ['no time', { measuredAt: undefined }, '/measuredAt', 'measuredAt'],
  ])('with %s is refused', async (_, change, pointer, detail) => {
    const body = {
      place: 'interval',
      from: '1+200',
      to: '1+210',
      method: 'bucket',
      measuredAt: at(1),
      flowLPerMin: '5',
    };
    const { status, body: problem } = await put('X', { ...body, ...change });
    expect(status).toBe(422);
    expect(problem.errors).toEqual([
      expect.objectContaining({ pointer, detail: expect.stringContaining(detail) }),
    ]);
  });
});

describeOnce('along the drive', () => {
  beforeEach(async () => {
    await faceAt(200); // 1+350
    await over('A', '1+160', '1+260', '50', 1);
    await over('B', '1+240', '1+280', '8', 2); // overlaps the last 20 m of A
    await over('C', '1+290', '1+310', '6', 1);
  });

  itOnce(
    'the latest governs its interval, the rest of the older keeps its share, gaps are named',
    async () => {
      // A keeps 80 of its 100 m: 40 l/min; B 8; C 6. Gaps: 1+150–160, 1+280–290, 1+310–350 (the face).
      expect(
        cells(
          await read('inflow-stretches'),
          'from',
          'to',
          'measurement',
          'inflowLPerMin',
          'cumulatedLPerMin',
          'supersededCount',
          'overlapped',
        ),
      ).toEqual([
        ['1+150.000', '1+160.000', null, null, '0.000', 0, []],
        ['1+160.000', '1+240.000', 'A', '40.000', '40.000', 0, []],
        ['1+240.000', '1+280.000', 'B', '8.000', '48.000', 1, ['A']],
        ['1+280.000', '1+290.000', null, null, '48.000', 0, []],
        ['1+290.000', '1+310.000', 'C', '6.000', '54.000', 0, []],
        ['1+310.000', '1+350.000', null, null, '54.000', 0, []],
      ]);
    },
  );

  itOnce('a new measurement over the same interval replaces the old one and overlaps nothing', async () => {
    await over('C2', '1+290', '1+310', '9', 4);
    expect((await read('inflow-stretches')).at(-2)).toMatchObject({
      measurement: 'C2',
      inflowLPerMin: '9.000',
      supersededCount: 1,
      overlapped: [],
    });
  });

  itOnce('is cut at round chainages', async () => {
    // 1+150–200: 40 m of A, 20; 1+200–300: 40 m of A, 20, B 8, 10 m of C, 3, in 90 m: 31 / 90 · 100 = 34.444; 1+300–400: 10 m of C, 3
    const figures = [
      'from',
      'to',
      'measuredM',
      'gapM',
      'inflowLPerMin',
      'per100mLPerMin',
      'cumulatedLPerMin',
    ];
    expect(cells(await read('inflow/intervals'), ...figures)).toEqual([
      ['1+150.000', '1+200.000', '40.000', '10.000', '20.000', '50.000', '20.000'],
      ['1+200.000', '1+300.000', '90.000', '10.000', '31.000', '34.444', '51.000'],
      ['1+300.000', '1+400.000', '10.000', '40.000', '3.000', '30.000', '54.000'],
    ]);
    expect(
      cells(await read('inflow/intervals?lengthM=50&from=1%2B260&to=1%2B300'), 'from', 'inflowLPerMin'),
    ).toEqual([
      ['1+250.000', '9.000'], // 30 of B's 40 m, 6; 10 of C's 20 m, 3
    ]);
  });

  itOnce('is compared with the portal and the pumps', async () => {
    expect(await read<Row>('inflow-total')).toMatchObject({
      inflowLPerMin: '54.000',
      measuredM: '140.000',
      gapM: '60.000',
      portalMeasurement: null,
      differenceLPerMin: null,
      totalLPerMin: '54.000',
      toPumpLPerMin: '54.000',
      pumpingLPerMin: null,
      caution: expect.stringContaining('not dry ones'),
    });
    const portal = { place: 'portal', method: 'weir' };
    await measured('P0', { ...portal, flowLPerMin: '500', measuredAt: at(1) });
    await measured('P1', { ...portal, flowLPerMin: '90', serviceWaterLPerMin: '15', measuredAt: at(5) });
    await limits('2026-01-01', { pumpingLPerMin: '80' });
    // 90 − 15 = 75; 75 − 54 = 21; 80 − 90 = −10; 90 / 80 = 112.5 %
    expect(await read<Row>('inflow-total')).toMatchObject({
      portalMeasurement: 'P1',
      portalFlowLPerMin: '90.000',
      portalInflowLPerMin: '75.000',
      differenceLPerMin: '21.000',
      totalLPerMin: '75.000',
      toPumpLPerMin: '90.000',
      pumpingLPerMin: '80.000',
      reserveLPerMin: '-10.000',
      pumpingUsedPercent: '112.5',
    });
    expect(
      cells(await read('inflow-over-trigger'), 'kind', 'inflowLPerMin', 'triggerLPerMin', 'measuredAt'),
    ).toEqual([['pumping', '90.000', '80.000', at(5)]]);
  });

  itOnce('exceeds triggers only above the figures in force', async () => {
    await measured('H', { place: 'hole', hole: 'PH7', flowLPerMin: '12', measuredAt: at(3) });
    await limits('2026-01-01', { per100mLPerMin: '34.444', perHoleLPerMin: '12', totalLPerMin: '53.999' });
    const names = ['kind', 'from', 'to', 'hole', 'inflowLPerMin', 'triggerLPerMin'];
    expect(cells(await read('inflow-over-trigger'), ...names)).toEqual([
      ['per_100m', '1+150.000', '1+200.000', null, '50.000', '34.444'],
      ['total', null, null, null, '54.000', '53.999'],
    ]);
    await limits('2026-02-01', { perHoleLPerMin: '11.999' }); // replaced as a whole: nothing else is checked from then on
    await limits('2199-01-01', { totalLPerMin: '1' }); // not yet
    expect(cells(await read('inflow-over-trigger'), ...names)).toEqual([
      ['hole', null, null, 'PH7', '12.000', '11.999'],
    ]);
    expect(cells(await read('water-limits'), 'validFrom', 'isInForce')).toEqual([
      ['2026-01-01', false],
      ['2026-02-01', true],
      ['2199-01-01', false],
    ]);
  });

  itOnce('is answered as of a moment, and counts nothing measured later', async () => {
    const [{ made_at: moment }] = await app.sql<{ made_at: Date }>(
      'select max(made_at) as made_at from history.change',
    );
    await app.http.delete(`${url}/inflow-measurements/B`);
    expect(await read<Row>('inflow-total')).toMatchObject({ inflowLPerMin: '56.000' }); // A's 50 and C's 6
    expect(await read<Row>(`inflow-total?asOf=${moment.toISOString()}`)).toMatchObject({
      inflowLPerMin: '54.000',
    });
    await measured('D', {
      place: 'interval',
      from: '1+160',
      to: '1+260',
      flowLPerMin: '1',
      measuredAt: '2199-01-01T00:00:00Z',
    });
    expect(await read<Row>('inflow-total')).toMatchObject({ inflowLPerMin: '56.000' });
  });

  itOnce('by GraphQL as by REST', async () => {
    const query = `{ drive(project: "P1", drive: "${drive}") { inflowTotal { inflowLPerMin } inflowStretches { from inflowLPerMin }
      inflowByInterval(lengthM: 50) { inflowLPerMin } inflowOfHoles { hole } inflowOverTrigger { kind } waterLimits { validFrom }
      inflowMeasurements(first: 2) { nodes { name } pageInfo { endCursor } } inflowMeasurement(name: "B") { flowLPerMin } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toBeUndefined();
    const answer = body.data.drive;
    expect(answer).toMatchObject({
      inflowTotal: { inflowLPerMin: '54.000' },
      inflowMeasurements: {
        nodes: [{ name: 'A' }, { name: 'C' }],
        pageInfo: { endCursor: expect.stringMatching(/Z~C$/) },
      },
      inflowMeasurement: { flowLPerMin: '8.000' },
    });
    expect(answer.inflowStretches).toHaveLength(6);
    expect(cells(answer.inflowByInterval, 'inflowLPerMin')).toEqual([
      ['20.000'],
      ['22.000'],
      ['9.000'],
      ['3.000'],
    ]);
  });
});

itOnce('a drive without measurements has none', async () => {
  expect(await read('inflow-stretches')).toEqual([]);
  expect(await read('inflow/intervals')).toEqual([]);
  expect(await read('inflow-over-trigger')).toEqual([]);
  expect(await read<Row>('inflow-total')).toMatchObject({
    inflowLPerMin: '0.000',
    gapM: '0.000',
    totalLPerMin: '0.000',
  });
});

itOnce('a drive keeps its start and cannot end before its inflow', async () => {
  await over('A', '1+160', '1+260', '50', 1);
  const put = (change: object) =>
    app.http.put(url).send({
      name: 'N',
      startChainage: '1+150',
      endChainage: '2+150',
      direction: 1,
      boredDiameterM: '7',
      ...change,
    });
  expect((await put({ endChainage: '1+259' })).body.detail).toContain(
    'cannot end before 1+260.000, to which inflow was measured',
  );
  expect((await put({ startChainage: '1+149' })).body.detail).toContain('the drive has inflow measured');
});

describe('any measurements, in both directions', () => {
  const LENGTH_M = 40;
  const measurement = fc.record({
    from: fc.integer({ min: 0, max: LENGTH_M - 1 }),
    length: fc.integer({ min: 1, max: LENGTH_M }),
    perM: fc.integer({ min: 0, max: 20 }),
    day: fc.integer({ min: 1, max: 9 }),
  });
  const trial = fc.record({
    face: fc.integer({ min: 0, max: LENGTH_M }),
    list: fc.array(measurement, { maxLength: 7 }),
    intervalM: fc.integer({ min: 1, max: 15 }),
    startM: fc.integer({ min: 1000, max: 1100 }),
  });

  it('agree with a second implementation, metre by metre', async () => {
    let trials = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom<1 | -1>(1, -1),
        trial,
        async (direction, { face, list, intervalM, startM }) => {
          trials += 1;
          const chainage = (m: number): string => formatChainage((startM + direction * m) * 1000);
          await toDrive(`X${trials}`, {
            startChainage: chainage(0),
            endChainage: chainage(LENGTH_M),
            direction,
          });
          if (face > 0) await faceAt(face);
          // for each metre, the flow of the latest measurement, on the same day the one entered last
          const metres: ({ perM: number; name: string; day: number } | undefined)[] =
            Array(LENGTH_M).fill(undefined);
          for (const [index, { from, length, perM, day }] of list.entries()) {
            const to = Math.min(from + length, LENGTH_M);
            await over(`M${index}`, chainage(from), chainage(to), String(perM * (to - from)), day);
            for (let m = from; m < to; m += 1)
              if ((metres[m]?.day ?? 0) <= day) metres[m] = { perM, name: `M${index}`, day };
          }
          const stretches = await read('inflow-stretches');
          const governing = metres.map((metre, m) => metre?.name ?? (m < face ? null : undefined));
          const answered: unknown[] = Array(LENGTH_M).fill(undefined);
          const driven = (text: unknown): number =>
            direction * (Number(String(text).replace('+', '')) - startM);
          for (const { from, to, measurement: name } of stretches)
            for (let m = driven(from); m < driven(to); m += 1) answered[m] = name;
          expect(answered).toEqual(governing);
          const sum = (from: number, to: number): string =>
            metres
              .slice(from, to)
              .reduce((total, metre) => total + (metre?.perM ?? 0), 0)
              .toFixed(3);
          for (const { to, cumulatedLPerMin } of stretches) expect(cumulatedLPerMin).toBe(sum(0, driven(to)));
          for (const each of await read(`inflow/intervals?lengthM=${intervalM}`)) {
            const [from, to] = [driven(each['from']), driven(each['to'])];
            const own = metres.slice(from, to);
            const inflow = sum(from, to);
            const measuredM = own.filter(Boolean).length;
            expect(each).toMatchObject({ inflowLPerMin: inflow, measuredM: measuredM.toFixed(3) });
            expect(each['gapM']).toBe(own.filter((metre, m) => !metre && from + m < face).length.toFixed(3));
            if (measuredM > 0)
              expect(Number(each['per100mLPerMin'])).toBeCloseTo((100 * Number(inflow)) / measuredM, 2);
          }
          expect(await read<Row>('inflow-total')).toMatchObject({ inflowLPerMin: sum(0, LENGTH_M) });
        },
      ),
      runs(3, 60),
    );
  });
});

it('what the pumps use is rounded to the nearest tenth, by the limits that are in force from today', async () => {
  const [{ day }] = await app.sql<{ day: string }>(
    `select timezone(time_zone, now())::date::text as day from public.project where code = 'P1'`,
  );
  await measured('P1', { place: 'portal', method: 'weir', flowLPerMin: '20', measuredAt: at(5) });
  await limits(day, { pumpingLPerMin: '30' });
  // 20 / 30 = 66.66… %
  expect(await read<Row>('inflow-total')).toMatchObject({
    pumpingLPerMin: '30.000',
    pumpingUsedPercent: '66.7',
  });
});
