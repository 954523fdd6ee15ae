import { app, drive, ownDrives, toDrive, url } from '../../harness/own-drives.js';
import { until } from '../../harness/until.js';
import { bore, cover, fallingDrive, hole, ask, strokesOf } from './site.js';

// How far the face may advance: the worked example of the notes on probing, and cases by hand. Drives run from 1+200 to 2+200.

ownDrives('PC');

const ONE = { name: 'ONE', holeCount: 1, overlapM: '8' };
const CROWN = { fromDeg: '330', toDeg: '30' };
const RIGHT = { fromDeg: '60', toDeg: '120' };

it('a hole of 30 m with an overlap of 8 m allows the face 22 m, 12 strokes of 1.8 m or 21.6 m', async () => {
  await strokesOf('1.8');
  await hole('A');
  await ask([ONE]);
  expect(await cover()).toMatchObject({
    coverM: '30.000',
    probedToChainage: '1+230.000',
    permittedM: '22.000', // 30 − 8
    permittedToChainage: '1+222.000',
    strokeLengthM: '1.800',
    permittedStrokes: 12, // 22 / 1.8 = 12.2
    permittedStrokesM: '21.600',
    overlapM: '8.000',
    overlapRequirement: 'ONE',
    end: { at: '1+230.000', requirement: 'ONE', requiredHoles: 1, countedHoles: 0, emptySectors: [] },
    holes: [{ name: 'A', counts: false, reasons: ['ends_before'] }],
    reasons: [
      'Requirement ONE asks for 1 hole at 1+230.000; 0 reach over it and count',
      'Requirement ONE asks for 8.000 m ahead of the face: it may go 22.000 m, to 1+222.000',
    ],
  });
});

it('counts the axial reach of a hole that looks out: 30 m at 5° reach 29.886 m', async () => {
  await hole('A', { lookOutDeg: '5' });
  await ask([ONE]);
  expect(await cover()).toMatchObject({ coverM: '29.886', permittedM: '21.886' });
});

it('is the same on a drive against the chainage, and by GraphQL', async () => {
  await fallingDrive(`${drive}F`);
  await bore('2+200', '2+190');
  await hole('A', { collar: '2+195' });
  await ask([ONE]);
  // from 2+195 to 2+165: 25 m ahead of the face at 2+190, less 8
  expect(await cover()).toMatchObject({
    coverM: '25.000',
    permittedM: '17.000',
    permittedToChainage: '2+173.000',
    end: { at: '2+165.000' },
  });
  const query = `{ drive(project: "P1", drive: "${drive}") { probeCover { coverM permittedM end { at requirement } holes { name counts reasons sectors { fromDeg } } reasons caution }
    probeRequirements { requirements { name holeCount } } } }`;
  expect((await app.http.post('/graphql').send({ query })).body.data.drive).toMatchObject({
    probeCover: {
      coverM: '25.000',
      permittedM: '17.000',
      end: { at: '2+165.000', requirement: 'ONE' },
      holes: [{ name: 'A', counts: false, reasons: ['ends_before'], sectors: [] }],
      caution: expect.stringMatching(/local code decide/),
    },
    probeRequirements: { requirements: [{ name: 'ONE', holeCount: 1 }] },
  });
});

it('is unknown without a requirement; then any hole gives cover', async () => {
  await hole('A');
  expect(await cover()).toMatchObject({
    coverM: '30.000',
    hasRequirement: false,
    permittedM: null,
    permittedToChainage: null,
    permittedStrokes: null,
    end: null,
    reasons: ['No probe requirement is in force for the drive: how far the face may go is not known'],
  });
});

it('needs as many holes as required and one in each sector', async () => {
  await hole('A', { positionDeg: '0' });
  await hole('B', { positionDeg: '200', lengthM: '20' });
  await ask([{ ...ONE, holeCount: 2 }]);
  expect(await cover()).toMatchObject({ coverM: '20.000', permittedM: '12.000', end: { countedHoles: 1 } });

  // B lies in neither sector: the right one is empty from the face on
  await ask([{ ...ONE, holeCount: 2, sectors: [CROWN, RIGHT] }]);
  expect(await cover()).toMatchObject({
    coverM: '0.000',
    permittedM: '0.000',
    end: { at: '1+200.000', countedHoles: 2, emptySectors: [{ fromDeg: '60.00', toDeg: '120.00' }] },
    holes: [
      { name: 'A', counts: true, sectors: [{ fromDeg: '330.00', toDeg: '30.00' }] },
      { name: 'B', counts: true, sectors: [] },
    ],
    reasons: expect.arrayContaining([
      'Requirement ONE asks for a hole from 60.00° to 120.00° at 1+200.000; none there counts',
    ]),
  });
  await hole('C', { positionDeg: '90', lengthM: '25' });
  // crown to 30 m, right to 25 m, two holes to 25 m
  expect(await cover()).toMatchObject({ coverM: '25.000', permittedM: '17.000' });
});

it.each([
  ['0', '0', true],
  ['30', null, true], // ends belong to it
  ['30.01', null, false],
  ['330', null, true],
  ['360', null, true], // as 0
  ['20', '120', false], // leaves the sector with increasing length
  ['350', '20', true], // across the crown
  ['0', '180', false], // straight across the axis
])(
  'a hole at %s° that looks out to %s° is in the crown, 330° to 30°: %s',
  async (positionDeg, azimuth, inside) => {
    await hole('A', { positionDeg, lookOutAzimuthDeg: azimuth, lookOutDeg: '5' });
    await ask([{ ...ONE, sectors: [CROWN] }]);
    expect((await cover()).coverM).toBe(inside ? '29.886' : '0.000');
  },
);

it.each([
  ['is shorter than the minimum', { lengthM: '30' }, '0.000', ['below_minimum_length']],
  ['is as long as the minimum', { lengthM: '40' }, '40.000', ['ends_before']],
  // abandoned at 30 m of the 40 m planned: it counts to 30 m
  ['was abandoned before its end', { state: 'abandoned', plannedLengthM: '40' }, '30.000', ['ends_before']],
  ['was flooded before its end', { state: 'flooded', plannedLengthM: '40' }, '30.000', ['ends_before']],
  ['was abandoned, its end not planned as long', { state: 'abandoned' }, '0.000', ['below_minimum_length']],
  ['was drilled short of its plan', { plannedLengthM: '40' }, '0.000', ['below_minimum_length']],
  ['has no position', { positionDeg: null, lengthM: '40' }, '0.000', ['without_position']],
  ['has no time', { drilledAt: null, lengthM: '40' }, '0.000', ['without_time']],
  [
    'is still to be drilled',
    { drilledAt: '2199-01-01T00:00:00Z', lengthM: '40' },
    '0.000',
    ['not_yet_drilled'],
  ],
  ['looks out too far', { lookOutDeg: '12.01', lengthM: '50' }, '0.000', ['beyond_look_out_limit']],
  ['begins further on', { collar: '1+205', lengthM: '40' }, '0.000', ['begins_beyond']],
])('a hole that %s counts only so far, and says why', async (_, given, coverM, reasons) => {
  await hole('A', given);
  await ask([{ ...ONE, leastLengthM: '40' }]);
  expect(await cover()).toMatchObject({ coverM, holes: [{ name: 'A', counts: false, reasons }] });
});

it('a hole counts from the very moment at which it was drilled', async () => {
  await ask([ONE]);
  let drilledAt = new Date();
  for (let aheadMs = 500; drilledAt <= new Date(); aheadMs *= 2) {
    drilledAt = new Date(Date.now() + aheadMs); // in the future when the hole is written, however long that takes
    await hole('A', { drilledAt: drilledAt.toISOString() });
  }
  const before = new Date(drilledAt.getTime() - 1);
  const answers = async ({ asOf }: { asOf: Date }): Promise<boolean> =>
    (await app.http.get(`${url}/probe-cover`).query({ asOf: asOf.toISOString() })).status === 200;
  await until(() => answers({ asOf: drilledAt })); // the moment has come
  expect(await cover({ asOf: drilledAt.toISOString() })).toMatchObject({
    coverM: '30.000',
    notYetDrilledCount: 0,
  });
  expect(await cover({ asOf: before.toISOString() })).toMatchObject({
    coverM: '0.000',
    notYetDrilledCount: 1,
  });
});

describe('requirements by length', () => {
  const DEFAULT = { name: 'USUAL', holeCount: 1, overlapM: '5' };

  it('end the cover where more is required than exists', async () => {
    await hole('A', { lengthM: '60' });
    await ask([DEFAULT, { name: 'FAULT', from: '1+230', to: '1+240', holeCount: 2, overlapM: '10' }]);
    expect(await cover()).toMatchObject({
      coverM: '30.000',
      permittedM: '25.000',
      end: { at: '1+230.000', requirement: 'FAULT', requiredHoles: 2, countedHoles: 1 },
      overlapRequirement: 'USUAL',
    });
  });

  it('stop the face where a longer overlap begins', async () => {
    await hole('A', { lengthM: '60' });
    await ask([DEFAULT, { name: 'FAULT', from: '1+230', to: '1+240', holeCount: 1, overlapM: '35' }]);
    // covered to 1+260: at 1+230 that leaves 30 m, where 35 m are required; 5 m would allow 1+255
    expect(await cover()).toMatchObject({
      coverM: '60.000',
      permittedM: '30.000',
      overlapRequirement: 'FAULT',
    });
  });

  it('count a place that no requirement names as not covered', async () => {
    await hole('A');
    await ask([{ name: 'FIRST', from: '1+200', to: '1+210', holeCount: 1, overlapM: '2' }]);
    expect(await cover()).toMatchObject({
      coverM: '10.000',
      permittedM: '8.000',
      end: { at: '1+210.000', requirement: null, requiredHoles: null },
      reasons: expect.arrayContaining(['No requirement names the place 1+210.000: it counts as not covered']),
    });
  });

  it('allow the face to go to the end of the drive where none is required up to there', async () => {
    await ask([{ name: 'NONE', holeCount: 0, overlapM: '8' }]);
    expect(await cover()).toMatchObject({
      permittedM: '1000.000',
      permittedToChainage: '2+200.000',
      end: null,
      reasons: expect.arrayContaining(['What is required is covered to the end of the drive']),
    });
  });

  it('apply beyond the end of the drive, where holes may reach', async () => {
    await toDrive(`${drive}E`, { endChainage: '1+230' });
    await bore('1+200', '1+220');
    await hole('A', { collar: '1+215' });
    await ask([{ name: 'LAST', from: '1+210', to: '1+230', holeCount: 1, overlapM: '8' }]);
    // to 1+245, less 8 m: 1+237, but the drive ends at 1+230
    expect(await cover()).toMatchObject({ coverM: '25.000', permittedM: '10.000' });
    await hole('A', { collar: '1+205' }); // to 1+235, less 8 m: 1+227
    expect((await cover()).permittedM).toBe('7.000');
  });
});

it('gives no strokes without a stroke length, and says so', async () => {
  await strokesOf(null);
  await hole('A');
  await ask([ONE]);
  expect(await cover()).toMatchObject({
    permittedM: '22.000',
    permittedStrokes: null,
    reasons: expect.arrayContaining([expect.stringMatching(/no stroke length/)]),
  });
});

it('follows the whole revision in force on the day requested', async () => {
  await hole('A');
  await ask([ONE]);
  await ask([{ ...ONE, name: 'TWO', holeCount: 2 }], { revision: 'B', validFrom: '2199-01-01' });
  expect(await cover()).toMatchObject({ permittedM: '22.000', requirementRevision: null });
  await ask([{ ...ONE, name: 'TWO', overlapM: '20' }], { revision: 'A', validFrom: '2021-01-01' });
  expect(await cover()).toMatchObject({
    permittedM: '10.000',
    requirementRevision: 'A',
    requirementValidFrom: '2021-01-01',
  });
  const { body } = await app.http.get(`${url}/probe-requirements`);
  expect([body.revision, body.requirements.map(({ name }: { name: string }) => name)]).toEqual([
    'A',
    ['TWO'],
  ]);
  expect(body.revisions.map((each: Record<string, unknown>) => [each.revision, each.isInForce])).toEqual([
    [null, false],
    ['A', true],
    ['B', false],
  ]);
  await ask([], { revision: 'A', validFrom: '2021-01-01' }); // removes it
  expect((await cover()).permittedM).toBe('22.000');
});

it('is read as of a moment', async () => {
  await hole('A');
  await ask([ONE]);
  const [{ at }] = (await app.sql('select clock_timestamp() as at')) as [{ at: Date }];
  await ask([{ ...ONE, holeCount: 2 }]);
  await hole('A', { lengthM: '40' });
  expect((await cover()).permittedM).toBe('0.000');
  expect(await cover({ asOf: new Date(at).toISOString() })).toMatchObject({
    permittedM: '22.000',
    end: { requiredHoles: 1 },
  });
});

const send = (requirements: object[], more: object = {}) =>
  app.http.put(`${url}/probe-requirements`).send({ requirements, ...more });
const FAULT = { name: 'FAULT', from: '1+230', to: '1+240', holeCount: 1, overlapM: '8' };

it.each<[object[], object, string, unknown, RegExp]>([
  [[ONE, ONE], {}, '/requirements/1/name', 'ONE', /ONE is listed twice/],
  [[ONE, { ...ONE, name: 'X' }], {}, '/requirements/1/from', null, /ONE has no length already/],
  [[{ ...FAULT, to: undefined }], {}, '/requirements/0/to', '1+230', /to is missing/],
  [[{ ...FAULT, from: '1+240' }], {}, '/requirements/0/to', '1+240', /does not lie ahead of/],
  [[{ ...FAULT, to: '3+000' }], {}, '/requirements/0/to', '3+000', /beyond the end of the drive/],
  [
    [FAULT, { ...FAULT, name: 'X', from: '1+239', to: '1+250' }],
    {},
    '/requirements/1/from',
    '1+239',
    /1\+239 to 1\+250 overlaps requirement FAULT/,
  ],
  [[{ ...ONE, sectors: [CROWN, RIGHT] }], {}, '/requirements/0/holeCount', 1, /at least 2/],
  [
    [{ ...ONE, sectors: [{ fromDeg: '0', toDeg: '361' }] }],
    {},
    '/requirements/0/sectors/0/toDeg',
    '361',
    /from 0 to 360/,
  ],
  [[{ ...ONE, holeCount: -1 }], {}, '/requirements/0/holeCount', -1, /0/],
  [[{ ...ONE, overlapM: '-1' }], {}, '/requirements/0/overlapM', '-1', /from 0/],
  [[{ ...ONE, leastLengthM: '0' }], {}, '/requirements/0/leastLengthM', '0', /from 0\.001/],
  [[ONE], { validFrom: '2027-01-01' }, '/revision', undefined, /revision is required/],
])('refuses %j %j at %s', async (requirements, more, pointer, value, detail) => {
  const before = await app.contents();
  const { status, body } = await send(requirements, more);
  expect(status).toBe(422);
  expect(body.errors).toContainEqual(
    expect.objectContaining({
      pointer,
      ...(value === undefined ? {} : { value }),
      detail: expect.stringMatching(detail),
    }),
  );
  expect(await app.contents()).toBe(before);
});

it('prevents the drive from ending before its requirements', async () => {
  await ask([FAULT]);
  const { name, boredDiameterM } = (await app.http.get(url)).body;
  const sent = { name, boredDiameterM, startChainage: '1+200', direction: 1 };
  expect((await app.http.put(url).send({ ...sent, endChainage: '1+239' })).body.detail).toMatch(
    /cannot end before 1\+240\.000, which a probe requirement reaches/,
  );
});
