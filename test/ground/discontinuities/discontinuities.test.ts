import { poleOf } from '../../../src/engineering/orientation.js';
import { app, drive, url, ownDrives, DRIVES, toDrive } from '../../harness/own-drives.js';
import { joint, sets, sheet, type Row } from './sheet.js';

// Discontinuities as mapped, one by one and by sheet.

const put = (name: string, body: object) => app.http.put(`${url}/discontinuities/${name}`).send(body);
const listed = async (query = ''): Promise<string[]> =>
  (await app.http.get(`${url}/discontinuities${query}`)).body.items.map(({ name }: Row) => name);
const graphql = async (query: string): Promise<Row> => {
  const { body } = await app.http.post('/graphql').send({ query });
  if (body.errors) throw new Error(JSON.stringify(body.errors));
  return body.data as Row;
};

ownDrives('J');

describe('a discontinuity', () => {
  const full = joint('1+204.31', 62.5, 128, {
    set: 'J1',
    spacingM: '0.35',
    persistenceM: '4.2',
    apertureMm: '1.5',
    roughness: 'slightly_rough',
    infilling: 'soft',
    infillingMaterial: 'clay',
    weathering: 'moderate',
    seepage: 'dripping',
    positionDeg: '285',
    remark: 'wavy',
    mappedBy: 'A. Geologist',
    mappedAt: '2027-03-02T10:15:00+01:00',
  });
  const stored = {
    ...full,
    name: 'D-1',
    chainage: '1+204.310',
    dipDeg: '62.50',
    dipDirectionDeg: '128.00',
    spacingM: '0.350',
    persistenceM: '4.200',
    apertureMm: '1.50',
    positionDeg: '285.00',
    mappedAt: '2027-03-02T09:15:00+00:00',
  };

  it('is put, read, replaced and removed, and keeps nothing of what it replaces', async () => {
    const created = await put('D-1', full);
    expect([created.status, created.body]).toEqual([201, stored]);
    expect((await app.http.get(`${url}/discontinuities/D-1`)).body).toEqual(stored);
    const bare = await put('D-1', joint('1+205', 10, 0));
    expect(bare.body).toEqual({
      ...Object.fromEntries(Object.keys(stored).map((field) => [field, null])),
      ...joint('1+205.000', 10, 0),
      dipDeg: '10.00',
      dipDirectionDeg: '0.00',
      name: 'D-1',
    });
    expect((await app.http.delete(`${url}/discontinuities/D-1`)).status).toBe(204);
    const gone = `${url}/discontinuities/D-1`;
    for (const answer of [await app.http.get(gone), await app.http.delete(gone)])
      expect([answer.status, answer.body.detail]).toEqual([
        404,
        `There is no discontinuity D-1 in drive ${drive}.`,
      ]);
  });

  it('is the same by GraphQL', async () => {
    const at = `project: "P1", drive: "${drive}"`;
    const input = `{ chainage: "1+204.31", type: fault, dipDeg: 80, dipDirectionDeg: "359.99", set: "F" }`;
    const fields = 'name chainage type dipDeg dipDirectionDeg set remark';
    const fault = {
      name: 'F1',
      chainage: '1+204.310',
      type: 'fault',
      dipDeg: '80.00',
      dipDirectionDeg: '359.99',
      set: 'F',
      remark: null,
    };
    expect(
      await graphql(`mutation { putDiscontinuity(${at}, name: "F1", input: ${input}) { ${fields} } }`),
    ).toEqual({
      putDiscontinuity: fault,
    });
    const query = `{ drive(${at}) { discontinuities(from: "1+204", to: "1+205") { nodes { ${fields} } pageInfo { hasNextPage endCursor } } discontinuitySets { from to sets { set count meanDipDeg } } } }`;
    expect(await graphql(query)).toEqual({
      drive: {
        discontinuities: {
          nodes: [fault],
          pageInfo: { hasNextPage: false, endCursor: expect.stringMatching(/^[\d.]+~F1$/) },
        },
        discontinuitySets: {
          from: '1+200.000',
          to: '2+200.000',
          sets: [{ set: 'F', count: 1, meanDipDeg: expect.closeTo(80, 9) }],
        },
      },
    });
    const two = `{ discontinuities: [{ name: "F1", ${input.slice(1)}, { name: "F2", ${input.slice(1)}] }`;
    expect(
      await graphql(`mutation { postDiscontinuities(${at}, sheet: ${two}) { created replaced unchanged } }`),
    ).toEqual({ postDiscontinuities: { created: 1, replaced: 0, unchanged: 1 } });
    expect(await graphql(`mutation { removeDiscontinuity(${at}, name: "F1") }`)).toEqual({
      removeDiscontinuity: true,
    });
  });

  it('has its pole stored as computed from its dip and direction', async () => {
    await sheet([
      { name: 'A', ...joint('1+201', 0, 90) },
      { name: 'B', ...joint('1+202', 90, 12.34) },
      { name: 'C', ...joint('1+203', 33.33, 300) },
    ]);
    const rows = await app.sql<Record<string, number>>(
      `select pole_east, pole_north, pole_down, dip_deg::float8, dip_direction_deg::float8 from report.discontinuity_row where drive_code = $1`,
      [drive],
    );
    for (const { pole_east: e, pole_north: n, pole_down: d, dip_deg, dip_direction_deg } of rows)
      expect([e + 0, n + 0, d]).toEqual(
        poleOf({ dipDeg: dip_deg, dipDirectionDeg: dip_direction_deg }).map((part) => part + 0),
      );
    expect(rows).toHaveLength(3);
  });

  it('is listed along the drive, a page at a time and by interval', async () => {
    const places = ['1+200', '1+210', '1+210', '1+220', '2+200'];
    await sheet(['S', 'B', 'A', 'C', 'E'].map((name, index) => ({ name, ...joint(places[index], 10, 10) })));
    expect(await listed()).toEqual(['S', 'A', 'B', 'C', 'E']);
    // half open along the drive, closed at its end; the ends may be given in either order
    expect(await listed('?from=1%2B210&to=1%2B220')).toEqual(['A', 'B']);
    expect(await listed('?from=1+220&to=1+210')).toEqual(['A', 'B']);
    expect(await listed('?from=1+220')).toEqual(['C', 'E']);
    expect(await listed('?to=1+200.001')).toEqual(['S']);
    const seen: string[] = [];
    let after = '';
    do {
      const { body } = await app.http.get(`${url}/discontinuities?first=2${after && `&after=${after}`}`);
      seen.push(...body.items.map(({ name }: Row) => name));
      after = body.next ?? '';
    } while (after);
    expect(seen).toEqual(['S', 'A', 'B', 'C', 'E']);
    expect(await listed('?after=10.000~A&from=1+215')).toEqual(['C', 'E']);
  });

  it('is placed by chainage in a drive that runs against it', async () => {
    await toDrive('BACK', { startChainage: '2+200', endChainage: '1+200', direction: -1 });
    await sheet([
      { name: 'A', ...joint('1+200', 10, 10) },
      { name: 'B', ...joint('2+199', 10, 10) },
    ]);
    expect(await listed()).toEqual(['B', 'A']);
    expect(await listed('?from=1+200&to=1+201')).toEqual(['A']);
    expect((await app.http.get(`${url}/discontinuities/sets?from=1+200&to=1+201`)).body).toMatchObject({
      from: '1+201.000',
      to: '1+200.000',
      sets: [{ count: 1 }],
    });
  });

  it('prevents its drive from being moved', async () => {
    await put('D', joint('1+300', 10, 10));
    const put_ = (more: object) =>
      app.http.put(url).send({
        name: 'Trial drive',
        startChainage: '1+200',
        endChainage: '2+200',
        direction: 1,
        boredDiameterM: '7',
        ...more,
      });
    const moved = await put_({ startChainage: '1+199' });
    expect([moved.status, moved.body.detail]).toEqual([
      409,
      'start chainage and direction cannot change: the drive has discontinuities',
    ]);
    const shorter = await put_({ endChainage: '1+299.999' });
    expect([shorter.status, shorter.body.detail]).toEqual([
      409,
      'the drive cannot end before 1+300.000, where a discontinuity was mapped',
    ]);
    expect((await put_({ endChainage: '1+300' })).status).toBe(200);
  });

  it('is read as of a moment', async () => {
    await put('D', joint('1+300', 10, 10, { set: 'J1' }));
    const [{ made_at: moment }] = await app.sql<{ made_at: Date }>(
      'select max(made_at) as made_at from history.change',
    );
    await put('D', joint('1+300', 50, 10, { set: 'J2' }));
    const asOf = `asOf=${moment.toISOString()}`;
    expect(await sets(`?${asOf}`)).toMatchObject([{ set: 'J1', meanDipDeg: expect.closeTo(10, 9) }]);
    expect((await app.http.get(`${url}/stereonet.svg?${asOf}`).buffer()).body.toString()).toContain('10/010');
    expect(await sets()).toMatchObject([{ set: 'J2', meanDipDeg: expect.closeTo(50, 9) }]);
  });
});

describe('a sheet', () => {
  it('is imported whole, and reports what it did', async () => {
    const own = [1, 2, 3].map((n) => ({ name: `D${n}`, ...joint(`1+20${n}`, 10 * n, 90, { set: 'J1' }) }));
    expect((await sheet(own)).body).toEqual({ created: 3, replaced: 0, unchanged: 0 });
    const before = await app.contents();
    expect((await sheet(own)).body).toEqual({ created: 0, replaced: 0, unchanged: 3 });
    expect(await app.contents()).toBe(before);
    const changed = [own[0], { ...own[1], remark: 'seen again' }, { ...own[2], name: 'D4' }];
    expect((await sheet(changed)).body).toEqual({ created: 1, replaced: 1, unchanged: 1 });
    expect(await listed()).toEqual(['D1', 'D2', 'D3', 'D4']);
  });

  it('may have a thousand rows', async () => {
    const many = Array.from({ length: 1000 }, (_, n) => ({
      name: `M${n}`,
      ...joint(String(1200 + n), n % 90, n % 360),
    }));
    expect((await sheet(many)).body).toEqual({ created: 1000, replaced: 0, unchanged: 0 });
  });

  it('is refused whole, with every error at its place', async () => {
    await put('D1', joint('1+201', 10, 10));
    const before = await app.contents();
    const { status, body } = await sheet([
      { name: 'D1', ...joint('1+202', 20, 20) },
      { name: 'D2', ...joint('2+200.001', 20, 20) },
      { name: 'D1', ...joint('1+202', 20, 20, { infilling: 'none', infillingMaterial: 'clay' }) },
    ]);
    expect(status).toBe(422);
    expect(body.errors.map(({ pointer, detail }: Row) => [pointer, detail])).toEqual([
      ['/discontinuities/1/chainage', '2+200.001 lies beyond the end of the drive at 2+200.000'],
      ['/discontinuities/2/infillingMaterial', 'an infilling of none has no material'],
      ['/discontinuities/2/name', 'D1 is already listed at /discontinuities/0'],
    ]);
    expect(await app.contents()).toBe(before);
  });

  it.each<[string, unknown, string, RegExp]>([
    ['none', [], '/discontinuities', /at least one discontinuity/],
    ['more than a thousand', Array(1001).fill({ name: 'x' }), '/discontinuities', /no more than 1000/],
    ['one without a name', [joint('1+201', 1, 1)], '/discontinuities/0/name', /name is missing/],
    ['no list', 'x', '/discontinuities', /./],
    ['a list in the list', [[]], '/discontinuities', /list of objects/],
  ])('with %s is refused', async (_, discontinuities, pointer, detail) => {
    const { status, body } = await sheet(discontinuities);
    expect([status, body.errors[0].pointer]).toEqual([422, pointer]);
    expect(body.errors[0].detail).toMatch(detail);
  });
});

describe('bad input', () => {
  it.each<[string, unknown, RegExp]>([
    ['dipDeg', '90.01', /from 0 to 90 /],
    ['dipDeg', '-1', /from 0 to 90 /],
    ['dipDeg', 'NaN', /from 0 to 90 /],
    ['dipDeg', null, /missing/],
    ['dipDirectionDeg', '360', /from 0 to 359\.99/],
    ['dipDirectionDeg', '12.345', /at most 2 decimals/],
    ['type', 'crack', /one of the following values: joint/],
    ['chainage', '1+199.999', /lies behind the start of the drive at 1\+200\.000/],
    ['chainage', '1.2 km', /must be a chainage/],
    ['set', ' J1', /without blanks at its ends/],
    ['set', '', /without blanks/],
    ['set', 'J\n1', /one line/],
    ['set', 'x'.repeat(41), /40 characters/],
    ['spacingM', '0', /from 0\.001/],
    ['persistenceM', '10000', /to 9999/],
    ['apertureMm', '-0.1', /from 0/],
    ['roughness', 'bumpy', /very_rough/],
    ['seepage', 3, /dry/],
    ['positionDeg', '361', /to 360/],
    ['remark', 'a\u0000b', /control characters/],
    ['mappedAt', 'yesterday', /moment with its offset/],
    ['colour', 'red', /should not exist/],
  ])('%s %j is refused', async (field, value, detail) => {
    const before = await app.contents();
    const { status, body } = await put('D', { ...joint('1+201', 10, 10), [field]: value });
    expect([status, body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer: `/${field}`, detail: expect.stringMatching(detail) })],
    ]);
    expect(await app.contents()).toBe(before);
  });

  it.each([
    ['/discontinuities?from=2%2B300', '/from', /beyond the end/],
    ['/discontinuities?from=1%2B300&to=1%2B300', '/to', /same place/],
    ['/discontinuities?to=1%2B200', '/to', /same place/],
    ['/discontinuities?first=0', '/first', /whole number from 1 to 1000/],
    ['/discontinuities?first=1001', '/first', /whole number from 1 to 1000/],
    ['/discontinuities?after=NOPE', '/after', /must be the `next` of a page/],
    ['/discontinuities/sets?to=x', '/to', /must be a chainage/],
    ['/discontinuities/sets?from=1%2B100', '/from', /behind the start/],
    ['/stereonet.svg?axisDeg=361', '/axisDeg', /greater than 360/],
    ['/stereonet.svg?axisDeg=east', '/axisDeg', /number/],
    ['/stereonet.svg?colour=red', '/colour', /unknown query parameter "colour"/],
  ])('%s is refused', async (query, pointer, detail) => {
    const { status, body } = await app.http.get(url + query);
    expect([status, body.errors[0].pointer]).toEqual([422, pointer]);
    expect(body.errors[0].detail).toMatch(detail);
  });

  it('a name that is an address or invalid, and a drive that does not exist, are reported', async () => {
    expect((await put('sets', joint('1+201', 1, 1))).status).toBe(405);
    expect((await sheet([{ name: 'sets', ...joint('1+201', 1, 1) }])).body.errors[0].pointer).toBe(
      '/discontinuities/0/name',
    );
    expect((await put('a%20b', joint('1+201', 1, 1))).status).toBe(422);
    for (const path of ['discontinuities', 'discontinuities/sets', 'stereonet.svg'])
      expect((await app.http.get(`${DRIVES}/NOPE/${path}`)).body.detail).toBe(
        'There is no drive NOPE in project P1.',
      );
  });
});

describe('the database', () => {
  const refusal = async (sql: string): Promise<string | undefined> =>
    app.sql(`begin; ${sql}; rollback`).then(
      () => 'taken',
      (error: Error & { constraint?: string }) => error.constraint,
    );

  it.each([
    ['at_m = -1', 'discontinuity_place'],
    ['at_m = 1000.001', 'within_drive'],
    ['dip_deg = 90.01', 'discontinuity_orientation'],
    ['dip_direction_deg = 360', 'discontinuity_orientation'],
    [`set_label = ' J1'`, 'discontinuity_set_label'],
    ['pole_down = -1, pole_east = 0, pole_north = 0', 'discontinuity_pole'],
    ['pole_east = 1', 'discontinuity_pole'],
    [`infilling = 'none', infilling_material = 'clay'`, 'discontinuity_infilling'],
    ['spacing_m = 0', 'discontinuity_sizes'],
    [`name = 'a b'`, 'discontinuity_code'],
    [`remark = 'x'`, 'taken'],
  ])('%s: %s', async (change, constraint) => {
    await put('D', joint('1+201', 10, 10));
    const own = `drive_id = (select id from drive where code = '${drive}')`;
    expect(await refusal(`update discontinuity set ${change} where ${own}`)).toBe(constraint);
  });
});
