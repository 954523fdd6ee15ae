import { app, drive, ownDrives, url } from '../../harness/own-drives.js';

// A whole probe hole: it is read back as it was put, and invalid ones are refused with field, value and rule.

ownDrives('PH');

type Body = Record<string, unknown>;

const HOLE = { collar: '1+200', lookOutDeg: '5', lengthM: '30' };
const send = (name: string, body: Body) => app.http.put(`${url}/probe-holes/${name}`).send(body);
const put = async (name: string, body: Body): Promise<Body> => {
  const { status, body: answer } = await send(name, body);
  expect([status, answer.errors]).toEqual([status < 300 ? status : 200, undefined]);
  return answer as Body;
};

const LOG = [
  { fromM: '0', toM: '12.5', penetrationRateMPerMin: '1.4', flushingColour: 'grey', rock: 'granite' },
  {
    fromM: '12.5',
    toM: '13',
    isVoid: true,
    flushingLossPercent: '100',
    waterInflowLPerMin: '40',
    waterPressureBar: '4.5',
    remark: 'rods fell 0.5 m',
  },
];
const LOG_READ = [
  {
    fromM: '0.000',
    toM: '12.500',
    penetrationRateMPerMin: '1.400',
    flushingColour: 'grey',
    isVoid: false,
    rock: 'granite',
  },
  {
    fromM: '12.500',
    toM: '13.000',
    flushingLossPercent: '100.00',
    waterInflowLPerMin: '40.00',
    waterPressureBar: '4.50',
    isVoid: true,
    remark: 'rods fell 0.5 m',
  },
];

it('is put whole and read whole, by REST, by GraphQL and in the as-built record', async () => {
  const whole = {
    ...HOLE,
    positionDeg: '90',
    lookOutAzimuthDeg: '120',
    plannedLengthM: '40',
    diameterMm: '64',
    method: 'percussive',
    state: 'flooded',
    log: LOG,
  };
  const expected = {
    name: 'A',
    positionDeg: '90.00',
    lookOutAzimuthDeg: '120.00',
    plannedLengthM: '40.000',
    lengthM: '30.000',
    diameterMm: '64.00',
    method: 'percussive',
    state: 'flooded',
    log: LOG_READ,
  };
  expect(await put('A', whole)).toMatchObject(expected);
  expect((await app.http.get(`${url}/probe-holes/A`)).body.log).toMatchObject(LOG_READ);
  const query = `{ drive(project: "P1", drive: "${drive}") { probeHoles { state method diameterMm log { fromM toM isVoid waterPressureBar } } } }`;
  expect((await app.http.post('/graphql').send({ query })).body.data.drive.probeHoles).toEqual([
    {
      state: 'flooded',
      method: 'percussive',
      diameterMm: '64.00',
      log: LOG_READ.map(({ fromM, toM, isVoid, waterPressureBar = null }) => ({
        fromM,
        toM,
        isVoid,
        waterPressureBar,
      })),
    },
  ]);
  const asBuilt = await app.http.get(`${url}/as-built?from=1%2B200&to=1%2B210`);
  expect(asBuilt.body.probeHoles).toMatchObject([expected]);
});

it('defaults to drilled and without a log; a put replaces the whole hole', async () => {
  await put('A', { ...HOLE, state: 'abandoned', diameterMm: '76', log: LOG });
  expect(await put('A', { ...HOLE, lengthM: '10' })).toMatchObject({
    state: 'drilled',
    diameterMm: null,
    method: null,
    lengthM: '10.000',
    log: [],
  });
});

it('keeps the rows of an unchanged log', async () => {
  const rows = (): Promise<unknown> =>
    app.sql(
      `select l.id, l.from_m from probe_log l join drive d on d.id = l.drive_id where d.code = '${drive}' order by 1`,
    );
  await put('A', { ...HOLE, log: LOG });
  const before = await rows();
  await put('A', { ...HOLE, remark: 'again', log: LOG });
  expect(await rows()).toEqual(before);
});

it('is read as of a moment, with the log it had', async () => {
  await put('A', { ...HOLE, log: LOG });
  const [{ at }] = (await app.sql('select clock_timestamp()::text as at')) as [{ at: string }];
  await put('A', { ...HOLE, state: 'grouted', log: LOG.slice(0, 1) });
  const then = await app.http.get(`${url}/probe-holes/A`).query({ asOf: new Date(at).toISOString() });
  expect([then.body.state, then.body.log.length]).toEqual(['drilled', 2]);
  const now = await app.http.get(`${url}/probe-holes/A`);
  expect([now.body.state, now.body.log.length]).toEqual(['grouted', 1]);
});

const interval = (fromM: string, toM: string, more: Body = {}): Body => ({ fromM, toM, ...more });

it.each<[Body, string, unknown, RegExp]>([
  [
    { log: [interval('0', '31')] },
    '/log/0/toM',
    '31.000',
    /31\.000 lies beyond the drilled length of 30\.000 m/,
  ],
  [{ log: [interval('5', '5')] }, '/log/0/toM', '5.000', /must be deeper than fromM 5\.000/],
  [
    { log: [interval('10', '20'), interval('0', '10.001')] },
    '/log/0/fromM',
    '10.000',
    /10\.000 to 20\.000 m overlaps 0\.000 to 10\.001 m/,
  ],
  [
    { log: [interval('0', '20'), interval('1', '2'), interval('5', '6')] },
    '/log/2/fromM',
    '5.000',
    /overlaps 0\.000 to 20\.000 m/,
  ],
  [
    { log: [interval('0', '1', { flushingLossPercent: '101' })] },
    '/log/0/flushingLossPercent',
    '101',
    /from 0 to 100/,
  ],
  [{ state: 'lost' }, '/state', 'lost', /one of/],
  [
    { method: 'blasted' },
    '/method',
    'blasted',
    /one of percussive, cored|one of the following values: percussive, cored/,
  ],
  [{ diameterMm: '0' }, '/diameterMm', '0', /from 0\.01/],
  [{ plannedLengthM: '0' }, '/plannedLengthM', '0', /from 0\.001/],
  [{ positionDeg: '10', lookOutAzimuthDeg: '361' }, '/lookOutAzimuthDeg', '361', /from 0 to 360/],
  [{ lookOutAzimuthDeg: '10' }, '/lookOutAzimuthDeg', '10', /needs positionDeg/],
])('refuses %j at %s', async (more, pointer, value, detail) => {
  const before = await app.contents();
  const { status, body } = await send('X', { ...HOLE, ...more });
  expect(status).toBe(422);
  expect(body.errors).toContainEqual(
    expect.objectContaining({ pointer, value, detail: expect.stringMatching(detail) }),
  );
  expect(await app.contents()).toBe(before);
});

it.each([
  [
    `insert into probe_log (drive_id, probe_hole_id, from_m, to_m) select drive_id, id, 29, 31 from probe_hole`,
    /reaches 31\.000 m; the hole was drilled to 30\.000 m/,
  ],
  [
    `insert into probe_log (drive_id, probe_hole_id, from_m, to_m) select drive_id, id, 12, 14 from probe_hole`,
    /probe_log_once/,
  ],
  [`update probe_hole set length_m = 12.999`, /reaches 13\.000 m; the hole was drilled to 12\.999 m/],
  [`update probe_hole set look_out_azimuth_deg = 20`, /probe_hole_azimuth/],
])('the database refuses %s', async (sql, rule) => {
  await put('A', { ...HOLE, log: LOG });
  await expect(
    app.sql(`${sql} where drive_id = (select id from drive where code = '${drive}')`),
  ).rejects.toThrow(rule);
});

it('belongs to the shift in which it was drilled: from its start until before its end', async () => {
  const { status } = await app.http
    .put(`${url}/shifts/2027-03-01/day`)
    .send({ state: 'draft', strokes: [], activities: [], support: [], ground: [] });
  expect(status).toBe(201);
  const { body: shift } = await app.http.get(`${url}/shifts/2027-03-01/day`);
  const shiftOf = async (drilledAt: number): Promise<unknown> =>
    (await put('S', { ...HOLE, drilledAt: new Date(drilledAt).toISOString() }))['shiftDate'] ?? null;
  const [start, end] = [Date.parse(String(shift.startsAt)), Date.parse(String(shift.endsAt))];
  expect(await shiftOf(start - 1)).toBeNull();
  expect(await shiftOf(start)).toBe('2027-03-01');
  expect(await shiftOf(end - 1)).toBe('2027-03-01');
  expect(await shiftOf(end)).toBeNull();
});
