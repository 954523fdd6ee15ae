import { app, drive, url, ownDrives, DRIVES } from '../../harness/own-drives.js';
import { intervals, item, put, read, type Row } from './items.js';

// Items of overbreak, by interval and cause.

const listed = async (query = ''): Promise<string[]> =>
  (await app.http.get(`${url}/overbreak${query}`)).body.items.map(({ name }: Row) => name);
const graphql = async (query: string): Promise<Row> => {
  const { body } = await app.http.post('/graphql').send({ query });
  if (body.errors) throw new Error(JSON.stringify(body.errors));
  return body.data as Row;
};

ownDrives('O');

describe('an item', () => {
  it('is put, read, replaced and removed; its volume is computed from its area where it is not given', async () => {
    const full = {
      from: '1+204',
      to: '1+205.7',
      cause: 'geological',
      areaM2: '0.5',
      maxDepthM: '0.4',
      arcFromDeg: '315',
      arcToDeg: '20',
      remark: 'wedge',
      surveyedBy: 'B. Surveyor',
      surveyedAt: '2027-03-02T10:15:00+01:00',
    };
    const answer = {
      ...full,
      name: 'OB-1',
      from: '1+204.000',
      to: '1+205.700',
      lengthM: '1.700',
      areaM2: '0.500',
      volumeM3: '0.850', // 0.5 · 1.7
      isVolumeSurveyed: false,
      maxDepthM: '0.400',
      arcFromDeg: '315.00',
      arcToDeg: '20.00',
      surveyedAt: '2027-03-02T09:15:00+00:00',
      doubts: [],
    };
    const created = await put('OB-1', full);
    expect([created.status, created.body]).toEqual([201, answer]);
    expect((await app.http.get(`${url}/overbreak/OB-1`)).body).toEqual(answer);
    const surveyed = await item('OB-1', '1+204', '1+205', 'operational', { volumeM3: '2.5' });
    expect(surveyed).toEqual({
      ...Object.fromEntries(Object.keys(answer).map((field) => [field, null])),
      name: 'OB-1',
      from: '1+204.000',
      to: '1+205.000',
      lengthM: '1.000',
      cause: 'operational',
      volumeM3: '2.500',
      isVolumeSurveyed: true,
      doubts: [expect.objectContaining({ doubt: 'ahead_of_face' })], // nothing was bored
    });
    expect(
      await item('OB-1', '1+204', '1+206', 'geological', { areaM2: '1', volumeM3: '1.5' }),
    ).toMatchObject({
      areaM2: '1.000',
      volumeM3: '1.500',
      isVolumeSurveyed: true,
    });
    expect((await app.http.delete(`${url}/overbreak/OB-1`)).status).toBe(204);
    expect((await app.http.delete(`${url}/overbreak/OB-1`)).body.detail).toBe(
      `There is no overbreak OB-1 in drive ${drive}.`,
    );
    expect((await app.http.get(`${url}/overbreak/OB-1`)).status).toBe(404);
  });

  it('keeps whether its volume is computed when it is put as read, or changed in something else', async () => {
    const computed = await item('OB-C', '1+204', '1+205.7', 'geological', { areaM2: '0.5' });
    const again = await put('OB-C', computed);
    expect([again.status, again.body]).toEqual([200, computed]);
    const longer = await put('OB-C', { ...computed, to: '1+206', lengthM: '1.700' });
    expect(longer.body).toMatchObject({ volumeM3: '1.000', isVolumeSurveyed: false }); // 0.5 · 2
    const surveyed = await put('OB-C', { ...computed, isVolumeSurveyed: true });
    expect(surveyed.body).toMatchObject({ volumeM3: '0.850', isVolumeSurveyed: true });
    expect((await put('OB-C', surveyed.body)).body).toEqual(surveyed.body);
  });

  it.each([
    [{ areaM2: '0.5', volumeM3: '9', isVolumeSurveyed: false }, '/volumeM3', /area times length, 0\.850/],
    [{ areaM2: '0.5', isVolumeSurveyed: true }, '/volumeM3', /must be given/],
    [{ volumeM3: '9', isVolumeSurveyed: false }, '/areaM2', /send areaM2/],
  ])('is refused with a volume that is not what it says, %j', async (given, pointer, detail) => {
    const { status, body } = await put('OB-R', {
      from: '1+204',
      to: '1+205.7',
      cause: 'geological',
      ...given,
    });
    expect([status, body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })],
    ]);
  });

  it('is the same by GraphQL', async () => {
    const at = `project: "P1", drive: "${drive}"`;
    const input = `{ from: "1+200", to: "1+202", cause: geological, areaM2: 1 }`;
    expect(
      await graphql(`mutation { putOverbreak(${at}, name: "A", input: ${input}) { name volumeM3 } }`),
    ).toEqual({
      putOverbreak: { name: 'A', volumeM3: '2.000' },
    });
    const figures = Object.keys(await read()).join(' ');
    const [cell] = await intervals('?lengthM=5');
    const query = `{ drive(${at}) { overbreak(first: 1) { nodes { name cause } pageInfo { hasNextPage endCursor } } overbreakQuantities { ${figures} }
      overbreakQuantitiesByInterval(lengthM: 5) { ${Object.keys(cell).join(' ')} } } }`;
    expect(await graphql(query)).toEqual({
      drive: {
        overbreak: {
          nodes: [{ name: 'A', cause: 'geological' }],
          pageInfo: { hasNextPage: false, endCursor: expect.stringMatching(/^[\d.]+~A$/) },
        },
        overbreakQuantities: await read(),
        overbreakQuantitiesByInterval: [cell],
      },
    });
    expect(await graphql(`mutation { removeOverbreak(${at}, name: "A") }`)).toEqual({
      removeOverbreak: true,
    });
  });

  it('cannot share its place with another of its cause, but may with one of the other', async () => {
    await item('A', '1+204', '1+206', 'geological', { areaM2: '1', arcFromDeg: '315', arcToDeg: '45' });
    const same = await put('B', { from: '1+205.999', to: '1+207', cause: 'geological', areaM2: '1' });
    expect([same.status, same.body.errors]).toEqual([
      409,
      [
        {
          in: 'body',
          pointer: '/from',
          value: '1+205.999',
          detail:
            '1+205.999 to 1+207 overlaps geological overbreak A, 1+204.000 to 1+206.000: the rock would be counted twice',
        },
      ],
    ]);
    const place = { from: '1+204', to: '1+206', areaM2: '1' };
    const answers = [];
    for (const [name, more] of [
      ['C', { cause: 'geological', from: '1+206' }], // begins where another ends
      ['D', { cause: 'operational' }],
      ['E', { cause: 'geological', arcFromDeg: '45', arcToDeg: '315' }], // the rest of the ring
      ['F', { cause: 'geological', arcFromDeg: '44.99', arcToDeg: '100' }],
      ['G', { cause: 'geological', arcFromDeg: '0', arcToDeg: '1' }], // over the crown
      ['H', { cause: 'geological' }],
      ['A', { cause: 'geological' }], // overlaps E, which now has the rest
    ] as const)
      answers.push([
        name,
        (await put(name, { ...place, ...(name === 'C' ? { to: '1+207' } : {}), ...more })).status,
      ]);
    expect(answers).toEqual([
      ['C', 201],
      ['D', 201],
      ['E', 201],
      ['F', 409],
      ['G', 409],
      ['H', 409],
      ['A', 409],
    ]);
  });

  it('is created once when two arrive together', async () => {
    const answers = await Promise.all(
      ['A', 'B', 'C', 'D'].map((name) =>
        put(name, { from: '1+204', to: '1+206', cause: 'geological', areaM2: '1' }),
      ),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([201, 409, 409, 409]);
  });

  it('is listed along the drive, a page at a time and by the interval that it touches', async () => {
    await item('Z', '1+200', '1+210', 'geological', { areaM2: '1' });
    await item('B', '1+210', '1+220', 'geological', { areaM2: '1' });
    await item('A', '1+210', '1+220', 'operational', { areaM2: '1' });
    await item('E', '2+190', '2+200', 'operational', { areaM2: '0' });
    expect(await listed()).toEqual(['Z', 'A', 'B', 'E']);
    expect(await listed('?from=1+205&to=1+210')).toEqual(['Z']);
    expect(await listed('?from=1+209.999&to=1+210.001')).toEqual(['Z', 'A', 'B']);
    expect(await listed('?from=1+220')).toEqual(['E']);
    expect((await app.http.get(`${url}/overbreak?first=2`)).body.next).toBe('10.000~A');
    expect(await listed('?after=10.000~A')).toEqual(['B', 'E']);
    expect((await app.http.get(`${url}/overbreak?after=X`)).body.errors[0].pointer).toBe('/after');
  });

  it('prevents its drive from being moved', async () => {
    await item('A', '1+204', '1+206', 'geological', { areaM2: '1' });
    const of = (more: object) =>
      app.http.put(url).send({
        name: 'T',
        startChainage: '1+200',
        endChainage: '2+200',
        direction: 1,
        boredDiameterM: '7',
        ...more,
      });
    expect((await of({ startChainage: '1+201' })).body.detail).toBe(
      'start chainage and direction cannot change: the drive has overbreak surveyed',
    );
    expect((await of({ endChainage: '1+205' })).body.detail).toBe(
      'the drive cannot end before 1+206.000, to which overbreak was surveyed',
    );
  });
});

describe('bad input', () => {
  const sound = { from: '1+204', to: '1+206', cause: 'geological', areaM2: '1' };

  it.each<[string, object, string, RegExp]>([
    ['no size', { areaM2: undefined }, '/areaM2', /needs areaM2, volumeM3 or both/],
    ['a negative area', { areaM2: '-0.1' }, '/areaM2', /from 0 to 999\.999/],
    ['a negative volume', { volumeM3: '-1' }, '/volumeM3', /from 0/],
    ['too many decimals', { areaM2: '0.0001' }, '/areaM2', /at most 3 decimals/],
    ['another cause', { cause: 'bad luck' }, '/cause', /geological, operational/],
    [
      'no length',
      { to: '1+204' },
      '/to',
      /does not lie after from 1\+204: the drive runs with rising chainage/,
    ],
    ['ends the wrong way round', { to: '1+203' }, '/to', /does not lie after/],
    ['a place behind the drive', { from: '1+199' }, '/from', /behind the start/],
    ['a place beyond it', { to: '2+201' }, '/to', /beyond the end/],
    ['half an arc', { arcFromDeg: '10' }, '/arcToDeg', /needs both/],
    ['the other half', { arcToDeg: '10' }, '/arcFromDeg', /needs both/],
    [
      'an arc of nothing',
      { arcFromDeg: '10', arcToDeg: '10.00' },
      '/arcToDeg',
      /must not end where it begins/,
    ],
    ['an arc from 360', { arcFromDeg: '360', arcToDeg: '10' }, '/arcFromDeg', /to 359\.99/],
    ['an arc to 0', { arcFromDeg: '10', arcToDeg: '0' }, '/arcToDeg', /from 0\.01/],
    ['a depth of a mine', { maxDepthM: '100' }, '/maxDepthM', /to 99/],
    ['an unknown field', { who: 'me' }, '/who', /should not exist/],
  ])('%s is refused', async (_, more, pointer, detail) => {
    const before = await app.contents();
    const { status, body } = await put('A', { ...sound, ...more });
    expect([status, body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })],
    ]);
    expect(await app.contents()).toBe(before);
  });

  it('a drive that does not exist is reported', async () => {
    for (const path of ['overbreak', 'overbreak/A', 'overbreak-quantities', 'overbreak-quantities/intervals'])
      expect((await app.http.get(`${DRIVES}/NOPE/${path}`)).body.detail).toBe(
        'There is no drive NOPE in project P1.',
      );
    expect((await app.http.put(`${DRIVES}/NOPE/overbreak/A`).send(sound)).status).toBe(404);
    expect(await intervals('?lengthM=0')).toMatchObject({ status: 422 });
  });
});

describe('the database', () => {
  it.each([
    ['to_m = from_m', 'overbreak_item_has_length'],
    ['to_m = 1000.001', 'overbreak_item_volume'],
    ['from_m = 999, to_m = 1000.001, volume_surveyed = true', 'within_drive'],
    ['volume_m3 = 2.001', 'overbreak_item_volume'],
    ['area_m2 = null', 'overbreak_item_volume'],
    ['max_depth_m = -1', 'overbreak_item_size'],
    ['arc_from_deg = 10', 'overbreak_item_arc'],
    ['arc_from_deg = 360, arc_to_deg = 10', 'overbreak_item_arc'],
    ['arc_from_deg = 10, arc_to_deg = 10', 'overbreak_item_arc'],
    [`name = 'a b'`, 'overbreak_item_code'],
    [`from_m = 7, to_m = 9`, 'overbreak_item_once'],
    [`remark = 'x'`, undefined],
  ])('%s: %s', async (change, constraint) => {
    await item('A', '1+204', '1+206', 'geological', { areaM2: '1' });
    await item('B', '1+208', '1+210', 'geological', { areaM2: '1' });
    const own = `drive_id = (select id from drive where code = '${drive}')`;
    const refused = await app
      .sql(`begin; update overbreak_item set ${change} where name = 'A' and ${own}; rollback`)
      .catch((error: Error & { constraint?: string }) => error.constraint);
    expect(typeof refused === 'string' ? refused : undefined).toBe(constraint);
  });
});
