import { app, drive, url, ownDrives } from '../../harness/own-drives.js';

// Water tests, with the worked examples of the published formulas by hand.

type Row = Record<string, unknown>;

const put = (name: string, body: object) => app.http.put(`${url}/water-tests/${name}`).send(body);

const step = (gaugeBar: string, flowLPerMin: string, more: object = {}): object => ({
  gaugeBar,
  flowLPerMin,
  durationMin: '10',
  ...more,
});

const TEST = {
  hole: 'PH1',
  collar: '1+210',
  fromDepthM: '12',
  toDepthM: '15',
  testedAt: '2027-03-02T10:00:00+01:00',
};

const tested = async (name: string, body: object): Promise<Row> => {
  const { status, body: answer, text } = await put(name, { ...TEST, ...body });
  if (status >= 300) throw new Error(text);
  return answer as Row;
};

ownDrives('T');

it('18 l/min over 3 m at 5 bar are 12.0 Lu, moderate, whether the pressure is read at the gauge or follows from corrections', async () => {
  const plain = await tested('A', { holeDiameterMm: '76', steps: [step('5', '18')] });
  expect(plain).toMatchObject({
    sectionM: '3.000',
    representativeLu: '12.000',
    lugeonClass: 'moderate',
    flowPattern: null,
  });
  expect(plain['steps']).toEqual([
    {
      gaugeBar: '5.000',
      frictionBar: '0.000',
      flowLPerMin: '18.000',
      durationMin: '10.00',
      netBar: '5.000',
      lugeon: '12.000',
    },
  ]);
  // 6 + 1.5 − 0.5 − 2 = 5
  const corrected = await tested('B', {
    staticBar: '1.5',
    groundwaterBar: '2',
    steps: [step('6', '18', { frictionBar: '0.5' })],
  });
  expect(corrected).toMatchObject({ representativeLu: '12.000', moyeMPerS: null, thiemMPerS: null });
  // K of 12 Lu: Q/L 12 l/min per m at 101.972 m. Moye: C = (1 + ln(3 / 0.076)) / 2π = 0.744150; 2e-4 · C / 101.9716 = 1.45952e-6.
  // Thiem: ln(3 / 0.038) / 2π = 0.695313; 1.36374e-6. (By 10.2 m a bar: 1.4591e-6 and 1.3634e-6.)
  expect(Number(plain['moyeMPerS']) / 1.45952e-6).toBeCloseTo(1, 4);
  expect(Number(plain['thiemMPerS']) / 1.36374e-6).toBeCloseTo(1, 4);
});

it('five steps suggest a pattern and a representative value', async () => {
  // over 3 m: 2 bar 3 l/min 5 Lu, 4 bar 6.6 5.5, 6 bar 21.6 12, 4 bar 6.48 5.4, 2 bar 3.06 5.1 → dilation, the lowest
  const steps = [step('2', '3'), step('4', '6.6'), step('6', '21.6'), step('4', '6.48'), step('2', '3.06')];
  const answer = await tested('D', { steps });
  expect((answer['steps'] as Row[]).map(({ lugeon }) => lugeon)).toEqual([
    '5.000',
    '5.500',
    '12.000',
    '5.400',
    '5.100',
  ]);
  expect(answer).toMatchObject({
    flowPattern: 'dilation',
    representativeLu: '5.000',
    lugeonClass: 'moderate',
    caution: expect.stringContaining('are suggestions'),
  });
  // replaced whole: 4.5 l/min over 5 m at 10 bar
  expect(await tested('D', { toDepthM: '17', steps: [step('10', '4.5')] })).toMatchObject({
    flowPattern: null,
    representativeLu: '0.900',
    lugeonClass: 'very_low',
    steps: [{ lugeon: '0.900' }],
  });
});

it.each([
  ['no length', { toDepthM: '12' }, '/toDepthM', 'toDepthM 12 does not lie below fromDepthM 12'],
  [
    'a hole wider than its section',
    { toDepthM: '12.05', holeDiameterMm: '76' },
    '/holeDiameterMm',
    'holeDiameterMm 76 is not less than the length of the section, 0.05 m',
  ],
  ['a collar outside of the drive', { collar: '9+000' }, '/collar', 'lies beyond the end of the drive'],
  ['no steps', { steps: [] }, '/steps', 'a test needs at least one step'],
  [
    'no pressure left',
    { groundwaterBar: '5', steps: [step('6', '1'), step('5', '1')] },
    '/steps/1/gaugeBar',
    '= 5 + 0 − 0 − 5 = 0 bar, must be above 0',
  ],
  [
    'a step of no time',
    { steps: [step('5', '1', { durationMin: '0' })] },
    '/steps/0/durationMin',
    'durationMin',
  ],
  ['a negative flow', { steps: [step('5', '-1')] }, '/steps/0/flowLPerMin', 'flowLPerMin'],
])('with %s is refused', async (_, change, pointer, detail) => {
  const { status, body } = await put('X', { ...TEST, steps: [step('5', '18')], ...change });
  expect(status).toBe(422);
  expect(body.errors).toEqual([
    expect.objectContaining({ pointer, detail: expect.stringContaining(detail) }),
  ]);
});

it('is listed by time, removed with its steps, and read as of a moment', async () => {
  await tested('B', { steps: [step('5', '18')] });
  await tested('A', { steps: [step('5', '18')] });
  await tested('C', { testedAt: '2027-03-01T10:00:00Z', steps: [step('5', '9')] });
  const { body: page } = await app.http.get(`${url}/water-tests?first=2`);
  expect([page.items.map(({ name }: Row) => name), page.next]).toEqual([
    ['C', 'A'],
    expect.stringMatching(/Z~A$/),
  ]);
  const [{ made_at: moment }] = await app.sql<{ made_at: Date }>(
    'select max(made_at) as made_at from history.change',
  );
  expect((await app.http.delete(`${url}/water-tests/C`)).status).toBe(204);
  expect((await app.http.get(`${url}/water-tests/C`)).status).toBe(404);
  const past = await app.http.get(`${url}/water-tests/C?asOf=${moment.toISOString()}`);
  expect(past.body).toMatchObject({ representativeLu: '6.000', steps: [{ lugeon: '6.000' }] });
  const query = `{ drive(project: "P1", drive: "${drive}") { waterTests(first: 1) { nodes { name steps { lugeon } } } waterTest(name: "B") { lugeonClass } } }`;
  const { body } = await app.http.post('/graphql').send({ query });
  expect(body.errors).toBeUndefined();
  expect(body.data.drive).toMatchObject({
    waterTests: { nodes: [{ name: 'A', steps: [{ lugeon: '12.000' }] }] },
    waterTest: { lugeonClass: 'moderate' },
  });
});

it('a drive keeps its start and cannot end before its water tests', async () => {
  await tested('A', { steps: [step('5', '18')] });
  const body = { name: 'N', startChainage: '1+200', endChainage: '1+209', direction: 1, boredDiameterM: '7' };
  expect((await app.http.put(url).send(body)).body.detail).toContain(
    'cannot end before 1+210.000, where a water test was made',
  );
});
