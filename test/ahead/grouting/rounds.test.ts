import { app, drive, url, ownDrives } from '../../harness/own-drives.js';
import { cement, G1, G2, hole, ROUND } from './rounds.js';

// Grouting rounds and what they took, worked by hand beside each case.

type Row = Record<string, unknown>;

const put = (name: string, body: object) => app.http.put(`${url}/grouting-rounds/${name}`).send(body);

const done = async (path: string, body: object): Promise<Row> => {
  const { status, body: answer, text } = await app.http.put(`${url}/${path}`).send(body);
  if (status >= 300) throw new Error(text);
  return answer as Row;
};

const grouted = (name: string, body: object = {}): Promise<Row> =>
  done(`grouting-rounds/${name}`, { ...ROUND, ...body });

ownDrives('G');

it('grout takes are quotients of exact sums, per hole and per surface of the bore', async () => {
  const round = await grouted('R1');
  // 30 + 24 + 6 m; 600 + 400 + 500 kg; w/c (600 + 320 + 450) / 1500 = 0.9133; surface π · 7 · 20 = 439.82297 m²:
  // 1500 / 439.82297 = 3.41046 kg/m², 60 / 439.82297 = 0.13642 m/m². Published 14 to 103 and 0.57 to 2.1. Hours 1.5 + 1.
  expect(round).toMatchObject({
    name: 'R1',
    from: '1+220.000',
    to: '1+240.000',
    face: '1+220.000',
    holeCount: 3,
    holeM: '60.000',
    massKg: '1500.000',
    volumeL: '1870.000',
    waterCementRatio: '0.913',
    groutingHours: '2.5000',
    roundHours: '6.0000',
    treatedM: '20.000',
    treatedSurfaceM2: '439.823',
    takeKgPerM: '25.000',
    takeLPerM: '31.167',
    takeKgPerM2: '3.410',
    holeMPerM2: '0.136',
    pressureEndBar: '60.500',
    controlIsMet: null,
    caution: expect.stringContaining('for the responsible person'),
  });
  expect(round['beyondPublished']).toEqual([
    { figure: 'hole_m_per_m2', low: '0.57', high: '2.1', source: 'NFF 14' },
    { figure: 'take_kg_per_m2', low: '14', high: '103', source: 'NFF 14' },
  ]);
  const [first, second, third] = round['holes'] as Row[];
  // the geometry of probe holes: 30 m at 5° reach 29.8858 m ahead and 2.6147 m out, 24 m at 4° 23.9415 and 1.6742
  expect(first).toMatchObject({
    name: 'G1',
    axialReachM: '29.886',
    radialSpreadM: '2.615',
    reach: '1+249.886',
    groutingHours: '1.5000',
    massKg: '1000.000',
    volumeL: '1250.000',
    waterCementRatio: '0.920', // (600 + 320) / 1000
    takeKgPerM: '33.333',
    takeLPerM: '41.667',
    stopCriterion: 'pressure',
    mixes: [
      { material: 'Portland cement', waterCementRatio: '1.000', massKg: '600.000', volumeL: '800.000' },
      { material: 'Portland cement', waterCementRatio: '0.800', massKg: '400.000', volumeL: '450.000' },
    ],
  });
  expect(second).toMatchObject({ axialReachM: '23.942', radialSpreadM: '1.674', takeKgPerM: '20.833' });
  expect(third).toMatchObject({
    massKg: '0.000',
    volumeL: '0.000',
    takeKgPerM: '0.000',
    waterCementRatio: null,
    groutingHours: null,
    mixes: [],
  });
});

it('a volume that one mix lacks is unknown; a mix without cement counts in mass and volume, not in the ratio', async () => {
  const resin = { material: 'Resin', massKg: '100', volumeL: '95' };
  const mixed = await grouted('R1', { holes: [hole('A', { mixes: [cement('1', '50', '66'), resin] })] });
  expect(mixed).toMatchObject({
    massKg: '150.000',
    volumeL: '161.000',
    waterCementRatio: '1.000',
    takeKgPerM: '25.000',
  });
  const lacking = await grouted('R1', {
    holes: [hole('A', { mixes: [cement('1', '50')] }), hole('B', { mixes: [resin] })],
  });
  expect(lacking).toMatchObject({ massKg: '150.000', volumeL: null, takeLPerM: null });
  expect((lacking['holes'] as Row[]).map(({ volumeL }) => volumeL)).toEqual([null, '95.000']);
});

it('published ranges are compared only for complete pre-grouting', async () => {
  expect(await grouted('R1', { purpose: 'post_grouting' })).toMatchObject({ beyondPublished: null });
  expect(await grouted('R1', { state: 'abandoned' })).toMatchObject({ beyondPublished: null });
  // 2 m interval: surface 43.982 m²; 1500 kg are 34.105 kg/m², 60 m 1.364 m/m²
  expect(await grouted('R1', { to: '1+222' })).toMatchObject({ takeKgPerM2: '34.105', beyondPublished: [] });
});

it.each([
  ['30', 0], // the least and the greatest of the published range, 30 to 100 bar, belong to it
  ['29.9', 1],
  ['100', 0],
  ['100.1', 1],
])('with a highest pressure of %s bar, %d figures lie outside the published range', async (bar, count) => {
  const holes = [{ ...G1, pressureEndBar: bar }, { ...G2, pressureEndBar: '20' }, hole('G3')];
  expect((await grouted('R1', { to: '1+222', holes }))['beyondPublished']).toHaveLength(count);
});

describe('control holes', () => {
  const control = (name: string, inflow: string | undefined, drilledAt: string, more: object = {}) =>
    done(`probe-holes/${name}`, {
      collar: '1+220',
      lookOutDeg: '5',
      lengthM: '15',
      state: 'control_hole',
      waterInflowLPerMin: inflow,
      drilledAt,
      ...more,
    });

  it('meet the trigger of a hole by their latest inflow since the round ended', async () => {
    await done('water-limits/2026-01-01', { perHoleLPerMin: '3' });
    await control('C1', '2.5', '2026-03-02T15:00:00Z');
    await control('C2', '9', '2026-03-02T13:00:00Z'); // drilled before the end: not a control hole yet
    const both = await grouted('R1', { controlHoles: ['C2', 'C1'] });
    expect(both).toMatchObject({
      controlIsMet: null,
      controlInflowLPerMin: '2.500',
      controlTriggerLPerMin: '3.000',
    });
    expect(both['controlHoles']).toEqual(['C2', 'C1']);
    expect(both['controlResults']).toEqual([
      {
        hole: 'C2',
        isRecorded: true,
        inflowLPerMin: null,
        measuredAt: null,
        triggerLPerMin: '3.000',
        isMet: null,
      },
      expect.objectContaining({ hole: 'C1', inflowLPerMin: '2.500', isMet: true }),
    ]);
    const measure = (flowLPerMin: string, measuredAt: string) =>
      done('inflow-measurements/M1', {
        place: 'hole',
        hole: 'C2',
        method: 'bucket',
        measuredAt,
        flowLPerMin,
      });
    await measure('3', '2026-03-02T14:00:00Z');
    const read = async (): Promise<Row> => (await app.http.get(`${url}/grouting-rounds/R1`)).body as Row;
    expect(await read()).toMatchObject({ controlIsMet: true, controlInflowLPerMin: '3.000' });
    await measure('3.001', '2026-03-02T14:00:00Z');
    expect(await read()).toMatchObject({ controlIsMet: false, controlInflowLPerMin: '3.001' });
    // one above its trigger is enough, whatever is unknown about the others
    expect((await app.http.delete(`${url}/probe-holes/C1`)).status).toBe(204);
    const without = await read();
    expect(without).toMatchObject({ controlIsMet: false });
    expect((without['controlResults'] as Row[])[1]).toMatchObject({
      hole: 'C1',
      isRecorded: false,
      isMet: null,
    });
    // a round that has not ended has no control holes yet
    expect(
      await grouted('R1', { controlHoles: ['C2'], state: 'under_way', endedAt: undefined, holes: [] }),
    ).toMatchObject({
      controlIsMet: null,
    });
  });

  it('are named in a round that is put as it was read', async () => {
    await control('C1', '2.5', '2026-03-02T15:00:00Z');
    const round = await grouted('R1', { controlHoles: ['C1'] });
    const { status, body } = await put('R1', round);
    expect([status, body]).toEqual([200, round]);
  });

  it('without a trigger none is met', async () => {
    await control('C1', '2.5', '2026-03-02T15:00:00Z');
    expect(await grouted('R1', { controlHoles: ['C1'] })).toMatchObject({
      controlIsMet: null,
      controlInflowLPerMin: '2.500',
      controlTriggerLPerMin: null,
    });
  });

  it('are control holes of the record, each once; what led to a round is in the record too', async () => {
    await control('P1', '40', '2026-03-01T15:00:00Z', { state: 'drilled' });
    await control('C1', '1', '2026-03-02T15:00:00Z');
    const { status, body } = await put('R1', {
      ...ROUND,
      triggerHole: 'NONE',
      triggerMeasurement: 'M9',
      controlHoles: ['C1', 'P1', 'NO', 'C1', 'not a name'],
    });
    expect(status).toBe(422);
    expect(body.errors.map(({ pointer, detail }: Row) => [pointer, detail])).toEqual([
      ['/triggerMeasurement', `measurement of inflow M9 not found in drive ${drive}`],
      ['/triggerHole', `probe hole NONE not found in drive ${drive}`],
      ['/controlHoles/1', 'probe hole P1 is not in state control_hole'],
      ['/controlHoles/2', `probe hole NO not found in drive ${drive}`],
      ['/controlHoles/3', 'control hole C1 is named twice'],
      ['/controlHoles/4', expect.stringContaining('must be 1 to 40 letters')],
    ]);
    expect(await grouted('R1', { triggerHole: 'P1' })).toMatchObject({ triggerHole: 'P1' });
  });
});

it.each([
  ['an end before the start', { to: '1+210' }, '/to', 'does not lie ahead of'],
  ['an interval beyond the drive', { to: '9+000' }, '/to', 'lies beyond the end of the drive'],
  ['a face outside of the drive', { face: '1+000' }, '/face', 'lies behind the start of the drive'],
  [
    'no end of a complete round',
    { endedAt: undefined, holes: [] },
    '/endedAt',
    'a complete round needs endedAt',
  ],
  ['an end at its start', { endedAt: ROUND.startedAt, holes: [] }, '/endedAt', 'is not after startedAt'],
  ['two holes of a name', { holes: [hole('A'), hole('A')] }, '/holes/1/name', 'hole A is entered twice'],
  [
    'a collar outside of the drive',
    { holes: [hole('A', { collar: '9+000' })] },
    '/holes/0/collar',
    'lies beyond',
  ],
  [
    'an azimuth without a position',
    { holes: [hole('A', { lookOutAzimuthDeg: '10' })] },
    '/holes/0/lookOutAzimuthDeg',
    'needs positionDeg',
  ],
  [
    'a hole grouted before the round',
    { holes: [hole('A', { startedAt: '2026-03-02T07:00:00Z' })] },
    '/holes/0/startedAt',
    'lies before the round',
  ],
  [
    'a hole grouted after the round',
    { holes: [hole('A', { endedAt: '2026-03-02T14:00:01Z' })] },
    '/holes/0/endedAt',
    'lies after the round',
  ],
  [
    'a hole that ends before it begins',
    { holes: [hole('A', { startedAt: '2026-03-02T10:00:00Z', endedAt: '2026-03-02T09:00:00Z' })] },
    '/holes/0/endedAt',
    'is not after startedAt',
  ],
  [
    'no words for another reason',
    { holes: [hole('A', { stopCriterion: 'other' })] },
    '/holes/0/remark',
    'needs a remark',
  ],
  [
    'blank words for another reason',
    { holes: [hole('A', { stopCriterion: 'other', remark: ' ' })] },
    '/holes/0/remark',
    'needs a remark',
  ],
  ...['', '  ', '\u200b'].map((material): [string, object, string, string] => [
    `a mix of ${JSON.stringify(material)}`,
    { holes: [hole('A', { mixes: [{ ...cement('1', '1'), material }] })] },
    '/holes/0/mixes/0/material',
    'must name the material',
  ]),
  [
    'a negative mass',
    { holes: [hole('A', { mixes: [cement('1', '-1')] })] },
    '/holes/0/mixes/0/massKg',
    'massKg',
  ],
  [
    'a ratio of nothing',
    { holes: [hole('A', { mixes: [cement('0', '1')] })] },
    '/holes/0/mixes/0/waterCementRatio',
    'from 0.001',
  ],
  ['no length', { holes: [hole('A', { lengthM: '0' })] }, '/holes/0/lengthM', 'lengthM'],
])('with %s is refused', async (_, change, pointer, detail) => {
  const { status, body } = await put('X', { ...ROUND, ...change });
  expect(status).toBe(422);
  expect(body.errors).toEqual([
    expect.objectContaining({ pointer, detail: expect.stringContaining(detail) }),
  ]);
  expect((await app.http.get(`${url}/grouting-rounds/X`)).status).toBe(404);
});

it('is put whole, listed by time, removed, and read as of a moment; the same put again changes nothing', async () => {
  await grouted('B', { holes: [G1, G2] });
  await grouted('A', { holes: [hole('Z')] });
  await grouted('C', { startedAt: '2026-03-01T08:00:00Z', holes: [] });
  const changes = () => app.sql('select count(*)::int as n from history.change');
  const before = await changes();
  await grouted('B', { holes: [G1, G2] });
  expect(await changes()).toEqual(before);
  const { body: page } = await app.http.get(`${url}/grouting-rounds?first=2`);
  expect([page.items.map(({ name }: Row) => name), page.next]).toEqual([
    ['C', 'A'],
    expect.stringMatching(/Z~A$/),
  ]);
  const [{ made_at: moment }] = await app.sql<{ made_at: Date }>(
    'select max(made_at) as made_at from history.change',
  );
  const replaced = await grouted('B', { holes: [{ ...G2, mixes: [cement('0.9', '7')] }], face: undefined });
  expect(replaced).toMatchObject({ holeCount: 1, massKg: '7.000', face: null });
  const past = await app.http.get(`${url}/grouting-rounds/B?asOf=${moment.toISOString()}`);
  expect(past.body).toMatchObject({ holeCount: 2, massKg: '1500.000' });
  const query = `{ drive(project: "P1", drive: "${drive}") { groutingRounds(first: 1) { nodes { name } } groutingRound(name: "B") { massKg holes { name mixes { massKg } } } } }`;
  const { body } = await app.http.post('/graphql').send({ query });
  expect(body).toEqual({
    data: {
      drive: {
        groutingRounds: { nodes: [{ name: 'C' }] },
        groutingRound: { massKg: '7.000', holes: [{ name: 'G2', mixes: [{ massKg: '7.000' }] }] },
      },
    },
  });
  expect((await app.http.delete(`${url}/grouting-rounds/B`)).status).toBe(204);
  expect((await app.http.get(`${url}/grouting-rounds/B`)).status).toBe(404);
  expect((await app.http.delete(`${url}/grouting-rounds/B`)).status).toBe(404);
  const [{ n }] = await app.sql<{ n: number }>(
    `select count(*)::int as n from grout_mix x join drive d on d.id = x.drive_id where d.code = $1`,
    [drive],
  );
  expect(n).toBe(0);
});

it('a drive keeps its start and cannot end before its grouting', async () => {
  await grouted('A', { holes: [] });
  const body = { name: 'N', startChainage: '1+200', endChainage: '1+239', direction: 1, boredDiameterM: '7' };
  expect((await app.http.put(url).send(body)).body.detail).toContain(
    'cannot end before 1+240.000, to which a grouting round reaches',
  );
  expect(
    (await app.http.put(url).send({ ...body, startChainage: '1+100', endChainage: '2+200' })).body.detail,
  ).toContain('the drive has grouting rounds');
});

describe('inflow by Goodman', () => {
  const asked = (query: string) => app.http.get(`${url}/inflow-estimate?${query}`);

  it.each([
    ['conductivityMPerS=0.0000001&headM=100&radiusM=3.6', 3.6, '93.84'],
    ['conductivityMPerS=0.00000001&headM=300&radiusM=4.7', 4.7, '23.32'],
    ['conductivityMPerS=0.000000100&headM=100', 3.5, '93.19'], // half of 7 m: 2π · 1e-5 / ln(200 / 3.5) = 6.28319e-5 / 4.04555 = 1.55311e-5
  ])('%s', async (query, radiusM, per100mLPerMin) => {
    const { status, body } = await asked(query);
    expect(status).toBe(200);
    expect(body).toMatchObject({
      radiusM,
      per100mLPerMin,
      caution: expect.stringContaining('Decision support only'),
    });
  });

  it.each([
    ['conductivityMPerS=0.0000001&headM=3', '/headM', 'headM 3 must be above the radius of the drive, 3.5 m'],
    ['conductivityMPerS=0&headM=100', '/conductivityMPerS', 'conductivityMPerS'],
    ['conductivityMPerS=0.0000001', '/headM', 'headM'],
    [
      'conductivityMPerS=1e-7&headM=100',
      '/conductivityMPerS',
      'must be a number from 0.000000000000001 to 1 with at most 15 decimals, without an exponent',
    ],
  ])('refuses %s', async (query, pointer, detail) => {
    const { status, body } = await asked(query);
    expect([400, 422]).toContain(status);
    expect(body.errors).toEqual(
      expect.arrayContaining([expect.objectContaining({ pointer, detail: expect.stringContaining(detail) })]),
    );
  });
});

it('grout takes, ratios and hours are rounded half up', async () => {
  const round = await grouted('UP', {
    endedAt: '2026-03-02T08:01:40Z',
    holes: [
      hole('U1', {
        lengthM: '7',
        startedAt: '2026-03-02T08:00:00Z',
        endedAt: '2026-03-02T08:01:40Z',
        mixes: [cement('0.9', '80', '80'), cement('0.8', '40', '40')],
      }),
    ],
  });
  // 120 / 7 = 17.1428…; w/c (72 + 32) / 120 = 0.8666…; 100 s = 0.02777… h; 120 / 439.82297 = 0.27283…; 7 / 439.82297 = 0.01591…
  const ofHole = {
    takeKgPerM: '17.143',
    takeLPerM: '17.143',
    waterCementRatio: '0.867',
    groutingHours: '0.0278',
  };
  expect(round).toMatchObject({
    ...ofHole,
    roundHours: '0.0278',
    takeKgPerM2: '0.273',
    holeMPerM2: '0.016',
    holes: [ofHole],
  });
});
