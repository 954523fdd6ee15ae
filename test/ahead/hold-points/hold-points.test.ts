import { aShift } from '../../builders/shift.js';
import { app, drive, ownDrives, toDrive, url } from '../../harness/own-drives.js';

// Places that the face must not pass before they are released. The drive of a case runs from 1+200 to 2+200.

type Row = Record<string, unknown>;

const POINT = { chainage: '1+210', reason: 'Fault zone expected', side: 'client', role: 'Site geologist' };

const put = (code: string, body: object) => app.http.put(`${url}/hold-points/${code}`).send(body);
const point = async (code: string): Promise<Row> =>
  (await app.http.get(`${url}/hold-points/${code}`)).body as Row;
const act = (code: string, action: string, body: object) =>
  app.http.post(`${url}/hold-points/${code}/${action}`).send(body);
const progress = async (query = ''): Promise<Row> =>
  (await app.http.get(`${url}/progress${query}`)).body as Row;

/** A day that bores from 06:00 to 07:00. */
const bore = async (date: string, stroke: number, from: string, to: string): Promise<void> => {
  const answer = await app.http
    .put(`${url}/shifts/${date}/day`)
    .send(aShift(date).withStroke(stroke, from, to, '06:00', '07:00').build());
  expect([answer.status, answer.body]).toEqual([201, expect.anything()]);
};

const NEXT = ['nextHoldPoint', 'nextHoldPointChainage', 'toNextHoldPointM', 'passedHoldPointCount'];
const next = async (query = ''): Promise<unknown[]> => {
  const now = await progress(query);
  const cover = await app.http.get(`${url}/probe-cover${query}`);
  const [inProgress, inCover] = [now, cover.body as Record<string, unknown>].map((each) =>
    NEXT.map((name) => each[name]),
  );
  expect(inCover).toEqual(inProgress); // the permitted advance names the same one
  return inProgress ?? [];
};

ownDrives('H');

it.each([
  ['with rising chainage', 1, '1+200', '2+200', ['1+210', '1+220'], ['1+206', '1+212']],
  ['against rising chainage', -1, '1+200', '0+200', ['1+190', '1+180'], ['1+194', '1+188']],
] as const)('are reached by the face %s', async (_, direction, start, end, places, faces) => {
  await toDrive(`${drive}${direction === 1 ? 'R' : 'F'}`, {
    startChainage: start,
    endChainage: end,
    direction,
  });
  expect(await next()).toEqual([null, null, null, 0]);
  const [first, second] = places;
  expect((await put('A', { ...POINT, chainage: first })).status).toBe(201);
  expect((await put('B', { ...POINT, chainage: second })).status).toBe(201);
  await bore('2027-03-01', 1, start, faces[0]);
  // 10 m − 6 m
  expect(await next()).toEqual(['A', `${first}.000`, '4.000', 0]);
  const before = new Date().toISOString();
  await bore('2027-03-02', 2, faces[0], faces[1]);
  // 20 m − 12 m; A lies behind the face
  expect(await next()).toEqual(['B', `${second}.000`, '8.000', 1]);
  expect(await next(`?asOf=${before}`)).toEqual(['A', `${first}.000`, '4.000', 0]);
  // 06:00 + 60 min × (10 − 6) / (12 − 6)
  expect(await point('A')).toMatchObject({
    aheadM: '-2.000',
    isPassed: true,
    isReleased: false,
    isPassedUnreleased: true,
    passedAt: '2027-03-02T06:40:00+00:00',
    passedByStroke: 2,
    releases: [],
    caution: expect.stringMatching(/decides nothing/),
  });
  expect(await point('B')).toMatchObject({ aheadM: '8.000', isPassed: false, passedAt: null });
  const answer = await app.http.post('/graphql').send({
    query: `{ drive(project: "P1", drive: "${drive}") { progress { ${NEXT.join(' ')} } probeCover { ${NEXT.join(' ')} reasons } holdPoints { code isPassedUnreleased } } }`,
  });
  expect(answer.body).toEqual({
    data: {
      drive: {
        progress: {
          nextHoldPoint: 'B',
          nextHoldPointChainage: `${second}.000`,
          toNextHoldPointM: '8.000',
          passedHoldPointCount: 1,
        },
        probeCover: {
          nextHoldPoint: 'B',
          nextHoldPointChainage: `${second}.000`,
          toNextHoldPointM: '8.000',
          passedHoldPointCount: 1,
          reasons: [
            'No probe requirement is in force for the drive: how far the face may go is not known',
            `Hold point B at ${second}.000, 8.000 m ahead, is not released`,
            '1 hold point behind the face not released',
          ],
        },
        holdPoints: [
          { code: 'A', isPassedUnreleased: true },
          { code: 'B', isPassedUnreleased: false },
        ],
      },
    },
  });
});

it('hold a face that is exactly at them, and are passed a millimetre further', async () => {
  await put('A', POINT);
  await bore('2027-03-01', 1, '1+200', '1+210');
  expect(await next()).toEqual(['A', '1+210.000', '0.000', 0]);
  await bore('2027-03-02', 2, '1+210', '1+210.001');
  expect(await next()).toEqual([null, null, null, 1]);
});

it('are released on evidence, a release is withdrawn by a later act, and both stay', async () => {
  await put('A', POINT);
  await bore('2027-03-01', 1, '1+200', '1+212');
  expect(await next()).toEqual([null, null, null, 1]);
  const released = await act('A', 'release', { evidence: 'Core K3', releasedAt: '2024-03-01T08:00:00Z' });
  expect([released.status, released.body]).toMatchObject([
    200,
    {
      isReleased: true,
      isPassedUnreleased: false,
      isReleasedLate: false,
      releases: [
        {
          evidence: 'Core K3',
          releasedBy: 'local',
          releasedAt: '2024-03-01T08:00:00+00:00',
          withdrawnAt: null,
        },
      ],
    },
  ]);
  expect(await next()).toEqual([null, null, null, 0]);
  const again = await act('A', 'release', { evidence: 'Core K4' });
  expect([again.status, (again.body as Row)['detail']]).toEqual([
    409,
    'hold point A is released: withdraw the release first',
  ]);
  const moved = await put('A', { ...POINT, chainage: '1+300' });
  expect([moved.status, (moved.body as Row)['detail']]).toEqual([
    409,
    expect.stringContaining('withdraw the release before you change it'),
  ]);
  const withReleases = new Date().toISOString();
  expect((await act('A', 'withdraw-release', { reason: 'Hole too short' })).body).toMatchObject({
    isReleased: false,
    isPassedUnreleased: true,
    releases: [{ evidence: 'Core K3', withdrawnBy: 'local', withdrawalReason: 'Hole too short' }],
  });
  expect(await next()).toEqual([null, null, null, 1]);
  expect(await next(`?asOf=${withReleases}`)).toEqual([null, null, null, 0]);
  const none = await act('A', 'withdraw-release', { reason: 'Once more' });
  expect([none.status, (none.body as Row)['detail']]).toEqual([
    409,
    'hold point A is not released: no release can be withdrawn',
  ]);
  await act('A', 'release', { evidence: 'Core K4' });
  expect((await point('A'))['releases']).toMatchObject([
    { evidence: 'Core K4', withdrawnAt: null },
    { evidence: 'Core K3', withdrawalReason: 'Hole too short' },
  ]);
  await act('A', 'withdraw-release', { reason: 'To remove it' });
  const removed = await app.http.delete(`${url}/hold-points/A`);
  expect([removed.status, (removed.body as Row)['detail']]).toEqual([
    409,
    expect.stringContaining('hold point A has been released: it cannot be removed'),
  ]);
});

it('that were never released can be moved and removed', async () => {
  await put('A', POINT);
  expect((await put('A', { ...POINT, chainage: '1+220', role: undefined })).body).toMatchObject({
    chainage: '1+220.000',
    role: null,
  });
  expect((await app.http.delete(`${url}/hold-points/A`)).status).toBe(204);
  expect((await app.http.get(`${url}/hold-points/A`)).status).toBe(404);
  expect((await app.http.delete(`${url}/hold-points/A`)).status).toBe(404);
});

it('keep start, direction and end of their drive', async () => {
  await put('A', { ...POINT, chainage: '1+300' });
  const trial = {
    name: 'Trial drive',
    startChainage: '1+200',
    direction: 1,
    boredDiameterM: '7',
    machine: 'M1',
  };
  const moved = (body: object) => app.http.put(url).send({ ...trial, endChainage: '2+200', ...body });
  expect([
    (await moved({ startChainage: '1+100' })).status,
    (await moved({ endChainage: '1+299' })).status,
  ]).toEqual([409, 409]);
  expect((await moved({ endChainage: '1+300' })).status).toBe(200);
});

it.each([
  ['/chainage', { chainage: '1+199.999' }, '1+199.999 lies'],
  ['/chainage', { chainage: '2+200.001' }, '2+200.001 lies'],
  ['/reason', { reason: ' ' }, 'reason must state why the face is to hold'],
  ['/side', { side: 'designer' }, 'side must be'],
  ['/role', { role: '' }, 'role must name who releases it'],
])('refuse %s of %j', async (pointer, bad, words) => {
  const answer = await put('A', { ...POINT, ...bad });
  expect([answer.status, answer.body]).toMatchObject([
    422,
    { errors: [{ pointer, value: Object.values(bad)[0] }] },
  ]);
  expect(JSON.stringify(answer.body)).toContain(words);
});

it.each([
  ['/evidence', { evidence: '' }, 'evidence must state the evidence'],
  ['/releasedAt', { evidence: 'x', releasedAt: '2199-01-01T00:00:00Z' }, 'lies in the future'],
])('are not released with %s of %j', async (pointer, body, words) => {
  await put('A', POINT);
  const answer = await act('A', 'release', body);
  expect([answer.status, answer.body]).toMatchObject([422, { errors: [{ pointer }] }]);
  expect(JSON.stringify(answer.body)).toContain(words);
  expect((await act('A', 'withdraw-release', { reason: '\n' })).status).toBe(422);
  expect((await act('Z', 'release', { evidence: 'x' })).status).toBe(404);
});

it('was passed at a moment to the millisecond, as all moments are', async () => {
  expect((await put('A', { ...POINT, chainage: '1+200.6' })).status).toBe(201);
  await bore('2027-03-01', 1, '1+200', '1+201.7');
  // 06:00 + 60 min × 0.6 / 1.7 = 06:21:10.588235
  expect(await point('A')).toMatchObject({ passedAt: '2027-03-01T06:21:10.588+00:00' });
});
