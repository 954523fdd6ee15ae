import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Demanded support: put as a whole or not at all, errors reported at their place, kept with its history, checked by the database too.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'S', startChainage: '1+200', endChainage: '0+200', direction: -1 });
});

afterAll(() => app.close());

const CLASS_A = '/v1/projects/P1/ground-classes/A/standard-support';
const DRIVE = '/v1/projects/P1/drives/N';
const BOLT = { item: 'BOLT', zone: 'L1', quantityPerM: '2' };
const section = (from: string, to: string, items: object[] = [BOLT]) => ({
  from,
  to,
  edition: 'drawing 1',
  items,
});

/** Support demanded without a pattern. */
const UNPATTERNED = {
  spacingM: null,
  toleranceM: null,
  piecesPerRow: null,
  aroundSpacingM: null,
  aroundToleranceM: null,
  fromDeg: null,
  toDeg: null,
};

/** A revision in force from the beginning, without a name. */
const FIRST = { revision: null, validFrom: null, validUntil: null, isInForce: true };

const put = (path: string, body: object) => app.http.put(path).send(body);

const changes = async (): Promise<number | undefined> =>
  (await app.sql<{ n: number }>('select count(*)::int as n from history.change'))[0]?.n;

describe('a standard', () => {
  it('is put, read, listed and replaced whole, with its history', async () => {
    expect((await app.http.get(CLASS_A)).body.detail).toBe('There is no standard support of ground class A.');
    const { status, body } = await put(CLASS_A, {
      edition: 'table 3',
      items: [
        { ...BOLT, zone: 'L2', tolerancePercent: 2.5 },
        BOLT,
        { item: 'SPRAY', zone: 'L1', quantityPerM: 0.123456 },
      ],
    });
    const standard = {
      groundClass: 'A',
      edition: 'table 3',
      ...FIRST,
      items: [
        { item: 'BOLT', zone: 'L1', unit: 'nr', quantityPerM: '2.000000', tolerancePercent: '0.00' },
        { item: 'SPRAY', zone: 'L1', unit: 'm3', quantityPerM: '0.123456', tolerancePercent: '0.00' },
        { item: 'BOLT', zone: 'L2', unit: 'nr', quantityPerM: '2.000000', tolerancePercent: '2.50' },
      ].map((each) => ({ ...each, ...UNPATTERNED })),
    };
    expect([status, body]).toEqual([201, standard]);
    const before = await changes();
    // the unit is that of the item: it must agree, or is refused
    expect((await put(CLASS_A, standard)).status).toBe(200);
    const other = { ...standard, items: standard.items.map((each) => ({ ...each, unit: 'm' })) };
    expect((await put(CLASS_A, other)).body.errors[0]).toMatchObject({
      pointer: '/items/0/unit',
      value: 'm',
    });
    const same = standard.items.map(({ unit: _, ...item }) => item);
    expect((await put(CLASS_A, { edition: 'table 3', items: same })).body).toEqual(standard);
    expect(await changes()).toBe(before); // equal to the existing content
    const mutation = `mutation ($input: StandardSupportInput!) { putGroundClassStandardSupport(project: "P1", code: "A", input: $input) { edition items { item zone } } }`;
    const input = { edition: 'table 4', items: [{ ...BOLT, quantityPerM: '3' }] };
    const { body: answer } = await app.http
      .post('/graphql')
      .set('X-Reason', 'addendum')
      .send({ query: mutation, variables: { input } });
    expect(answer.data.putGroundClassStandardSupport).toEqual({
      edition: 'table 4',
      items: [{ item: 'BOLT', zone: 'L1' }],
    });
    const { body: listed } = await app.http.get('/v1/projects/P1/standard-support');
    expect(listed).toEqual([
      {
        groundClass: 'A',
        edition: 'table 4',
        ...FIRST,
        items: [{ ...standard.items[0], quantityPerM: '3.000000' }],
      },
    ]);
    const query = `{ project(project: "P1") { standardSupport { groundClass items { quantityPerM } } } }`;
    expect((await app.http.post('/graphql').send({ query })).body.data.project.standardSupport).toEqual([
      { groundClass: 'A', items: [{ quantityPerM: '3.000000' }] },
    ]);
    const { body: history } = await app.http.get('/v1/projects/P1/changes?first=1000');
    expect(history.items.at(-1)).toMatchObject({
      actor: 'local',
      reason: 'addendum',
      tables: ['standard_support', 'standard_support_item'],
    });
  });

  it.each([
    [
      'an unknown item',
      [BOLT, { ...BOLT, item: 'ANCHOR' }],
      '/items/1/item',
      /^support item ANCHOR is not in the project: its support items are BOLT, /,
    ],
    ['an item twice', [BOLT, { ...BOLT, quantityPerM: '1' }], '/items/1/item', 'BOLT is listed twice for L1'],
    [
      'a quantity below 0',
      [{ ...BOLT, quantityPerM: '-2' }],
      '/items/0/quantityPerM',
      /must be a number from 0.000001/,
    ],
    [
      'a quantity of 0',
      [{ ...BOLT, quantityPerM: 0 }],
      '/items/0/quantityPerM',
      /must be a number from 0.000001|1e-6/,
    ],
    [
      'seven decimals',
      [{ ...BOLT, quantityPerM: '1.0000001' }],
      '/items/0/quantityPerM',
      /at most 6 decimals/,
    ],
    [
      'an unknown zone',
      [{ ...BOLT, zone: 'L3' }],
      '/items/0/zone',
      /zone L3 is not in the project: its zones are L1, L2/,
    ],
    ['all tolerated', [{ ...BOLT, tolerancePercent: '100' }], '/items/0/tolerancePercent', /from 0 to 99.99/],
    [
      'a tolerance below 0',
      [{ ...BOLT, tolerancePercent: '-1' }],
      '/items/0/tolerancePercent',
      /from 0 to 99.99/,
    ],
    [
      'no quantity',
      [{ item: 'BOLT', zone: 'L1' }],
      '/items/0/quantityPerM',
      /quantityPerM is missing|must be a number/,
    ],
    ['no list', 'BOLT', '/items', /^items must be an array$/],
  ])('with %s is refused, and nothing of it is stored', async (_, items, pointer, detail) => {
    const stood = await app.contents();
    const { status, body } = await put(CLASS_A, { edition: 'table 9', items });
    expect([status, body.errors]).toEqual([
      422,
      expect.arrayContaining([
        expect.objectContaining({ in: 'body', pointer, detail: expect.stringMatching(detail) }),
      ]),
    ]);
    expect(await app.contents()).toBe(stood);
  });

  it.each([undefined, null])('without a list (%s) requires nothing', async (items) => {
    const path = '/v1/projects/P1/ground-classes/B/standard-support';
    expect((await put(path, { edition: 'table 3', items: [BOLT] })).body.items).toHaveLength(1);
    const { status, body } = await put(path, { edition: 'table 3', items });
    expect([status, body]).toEqual([200, { groundClass: 'B', edition: 'table 3', ...FIRST, items: [] }]);
    expect((await app.http.delete(path)).status).toBe(204);
  });

  it('of an unknown class is reported', async () => {
    const path = '/v1/projects/P1/ground-classes/Z/standard-support';
    for (const answer of [await app.http.get(path), await put(path, { edition: 'x', items: [] })])
      expect([answer.status, answer.body.detail]).toEqual([404, 'There is no ground class Z in project P1.']);
  });

  it.each(['', '  ', 'table 3\nrow 2'])('must name its edition: %j is refused', async (edition) => {
    for (const [path, body] of [
      [CLASS_A, { edition, items: [] }],
      [`${DRIVE}/design-sections/X`, { ...section('1+240', '1+250'), edition }],
    ] as const) {
      const answer = await put(path, body);
      expect([answer.status, answer.body.errors]).toMatchObject([
        422,
        [{ pointer: '/edition', detail: 'edition must name a drawing, clause or version, in one line' }],
      ]);
    }
  });

  it('can be removed: then the requirement of the class is unknown, which is not the same as none', async () => {
    const path = '/v1/projects/P1/ground-classes/C/standard-support';
    await put('/v1/projects/P1/ground-classes/C', { description: 'Poor rock' });
    for (let time = 0; time < 2; time += 1) {
      expect((await put(path, { edition: 'by mistake', items: [] })).body.items).toEqual([]);
      expect((await app.http.delete(path)).status).toBe(204);
    }
    await put(path, { edition: 'by mistake', items: [BOLT] });
    const mutation = `mutation { removeGroundClassStandardSupport(project: "P1", code: "C") }`;
    const { body } = await app.http.post('/graphql').send({ query: mutation });
    expect(body.data).toEqual({ removeGroundClassStandardSupport: true });
    for (const answer of [await app.http.delete(path), await app.http.get(path)])
      expect([answer.status, answer.body.detail]).toEqual([
        404,
        'There is no standard support of ground class C.',
      ]);
    const { status, body: none } = await app.http.delete('/v1/projects/P1/ground-classes/Z/standard-support');
    expect([status, none.detail]).toEqual([404, 'There is no ground class Z in project P1.']);
  });

  it('fixes the unit of its items', async () => {
    const spray = { kind: 'sprayed_concrete', unit: 'm3', description: 'Sprayed concrete' };
    await put('/v1/projects/P1/ground-classes/B/standard-support', {
      edition: 'table 3',
      items: [{ item: 'SPRAY', zone: 'L1', quantityPerM: '1' }],
    });
    expect(
      (await put('/v1/projects/P1/support-items/SPRAY', { ...spray, description: 'Fibre concrete' })).status,
    ).toBe(200);
    const { status, body } = await put('/v1/projects/P1/support-items/SPRAY', { ...spray, unit: 'm2' });
    const detail =
      'SPRAY is demanded in m3 per metre by the standard support of ground class B: its unit cannot change';
    expect([status, body.type, body.detail]).toEqual([409, '/docs/problems#conflict', detail]);
    expect(body.errors).toEqual([{ in: 'body', pointer: '/unit', value: 'm2', detail }]);
  });
});

describe('a design section', () => {
  it('can be put, moved, reported and removed', async () => {
    const { status, body } = await put(`${DRIVE}/design-sections/D1`, section('1+210', '1+220'));
    const demanded = {
      ...BOLT,
      unit: 'nr',
      quantityPerM: '2.000000',
      tolerancePercent: '0.00',
      ...UNPATTERNED,
    };
    const place = { name: 'D1', from: '1+210.000', to: '1+220.000' };
    const stored = { ...place, edition: 'drawing 1', ...FIRST, items: [demanded] };
    expect([status, body]).toEqual([201, stored]);
    expect((await app.http.get(`${DRIVE}/design-sections/D1`)).body).toEqual(stored);
    // they may touch; one may be moved so that it overlaps its old place
    expect((await put(`${DRIVE}/design-sections/D2`, section('1+220', '1+230', []))).status).toBeLessThan(
      300,
    );
    expect((await put(`${DRIVE}/design-sections/D1`, section('1+205', '1+215'))).status).toBeLessThan(300);
    const { body: list } = await app.http.get(`${DRIVE}/design-sections`);
    expect(list.map(({ name, items }: { name: string; items: [] }) => [name, items.length])).toEqual([
      ['D1', 1],
      ['D2', 0],
    ]);
    const mutation = `mutation ($input: DesignSectionInput!) { putDesignSection(project: "P1", drive: "S", name: "G", input: $input) { from to }
      removeDesignSection(project: "P1", drive: "S", name: "G") }`;
    const variables = { input: section('1+190', '1+180') };
    const { body: answer } = await app.http.post('/graphql').send({ query: mutation, variables });
    expect(answer.data).toEqual({
      putDesignSection: { from: '1+190.000', to: '1+180.000' },
      removeDesignSection: true,
    });
    expect((await app.http.delete(`${DRIVE}/design-sections/D2`)).status).toBe(204);
    for (const { status: gone, body: problem } of [
      await app.http.delete(`${DRIVE}/design-sections/D2`),
      await app.http.get(`${DRIVE}/design-sections/D2`),
    ])
      expect([gone, problem.detail]).toEqual([404, 'There is no design section D2 in drive N.']);
  });

  it.each([
    [
      'over another',
      section('1+200', '1+205.001'),
      409,
      ['/from', /^1\+200 to 1\+205\.001 overlaps design section D1, 1\+205\.000 to 1\+215\.000$/],
    ],
    [
      'the wrong way round',
      section('1+240', '1+230'),
      422,
      ['/to', /^1\+230 does not lie ahead of 1\+240: the drive runs with rising chainage$/],
    ],
    ['without length', section('1+240', '1+240'), 422, ['/to', /does not lie ahead of/]],
    ['behind the start', section('1+199', '1+230'), 422, ['/from', /lies behind the start of the drive/]],
    ['beyond the end', section('1+240', '2+200.001'), 422, ['/to', /lies beyond the end of the drive/]],
    [
      'with an unknown item',
      section('1+240', '1+250', [{ ...BOLT, item: 'X' }]),
      422,
      ['/items/0/item', /not in the project/],
    ],
    ['with an item twice', section('1+240', '1+250', [BOLT, BOLT]), 422, ['/items/1/item', /twice for L1/]],
  ])('%s is refused', async (_, body, status, [pointer, detail]) => {
    const stood = await app.contents();
    const answer = await put(`${DRIVE}/design-sections/X`, body);
    expect([answer.status, answer.body.errors]).toEqual([
      status,
      [expect.objectContaining({ pointer, detail: expect.stringMatching(detail as RegExp) })],
    ]);
    expect(await app.contents()).toBe(stood);
  });
});

describe('the limits', () => {
  it('are replaced as a whole', async () => {
    const path = `${DRIVE}/support-limits`;
    const limits = [
      { zone: 'L1', limitM: '4.500' },
      { zone: 'L2', limitM: '60.000' },
    ];
    const dated = limits.map((limit) => ({ ...limit, ...FIRST }));
    expect((await put(path, { limits: limits.toReversed() })).body).toMatchObject({
      limits,
      revisions: dated,
    });
    expect((await put(path, { limits: [{ zone: 'L2', limitM: 0 }] })).body.revisions).toEqual([
      { zone: 'L2', limitM: '0.000', ...FIRST },
    ]);
    expect((await app.http.get(path)).body.revisions).toHaveLength(1);
    const mutation = `mutation { putSupportLimits(project: "P1", drive: "N", input: { limits: [] }) { limits { zone } } }`;
    expect((await app.http.post('/graphql').send({ query: mutation })).body.data).toEqual({
      putSupportLimits: { limits: [] },
    });
  });

  it('are those of the first revision until one is in force', async () => {
    const path = '/v1/projects/P1/drives/S/support-limits';
    const first = { revision: 'A', validFrom: '2199-01-01', limits: [{ zone: 'L1', limitM: '4.000' }] };
    const second = { revision: 'B', validFrom: '2199-02-01', limits: [{ zone: 'L1', limitM: '5.000' }] };
    for (const each of [second, first]) expect((await put(path, each)).status).toBeLessThan(300);
    expect((await app.http.get(path)).body).toMatchObject(first);
  });

  it.each([
    [[{ zone: 'L3', limitM: '4' }], '/limits/0/zone', /zone L3 is not in the project: its zones are L1, L2/],
    [[{ zone: 'L1', limitM: '-1' }], '/limits/0/limitM', /from 0 to 9999/],
    [
      [
        { zone: 'L1', limitM: '4' },
        { zone: 'L1', limitM: '5' },
      ],
      '/limits/1/zone',
      /zone L1 is listed twice/,
    ],
  ])('%j are refused', async (limits, pointer, detail) => {
    const { status, body } = await put(`${DRIVE}/support-limits`, { limits });
    expect([status, body.errors[0]]).toMatchObject([422, { pointer, detail: expect.stringMatching(detail) }]);
  });
});

describe('a request', () => {
  it.each([
    ['missing-support?lengthM=0.5', '/lengthM', /must not be less than 1/],
    ['missing-support?lengthM=x', '/lengthM', /must be a number from 1 to 10000 with at most 3 decimals/],
    // finer than a millimetre: its ends would have no chainage
    ['missing-support?lengthM=1.0001', '/lengthM', /at most 3 decimals/],
    ['support-measures/intervals?lengthM=1.0001', '/lengthM', /at most 3 decimals/],
    ['support-quantities/intervals?lengthM=1.0001', '/lengthM', /at most 3 decimals/],
    ['missing-support?from=1%2B200', '/to', /to is missing: from and to come together/],
    ['missing-support?from=1%2B200&to=1%2B200', '/to', /the same place/],
    ['missing-support?from=1%2B100&to=1%2B300', '/from', /behind the start of the drive/],
    ['missing-support?state=lost', '/state', /state must be one of/],
    ['before-next-stroke?strokeLengthM=0', '/strokeLengthM', /from 0.001 to 10/],
  ])('%s is refused', async (path, pointer, detail) => {
    const { status, body } = await app.http.get(`${DRIVE}/${path}`);
    expect([status, body.errors]).toMatchObject([
      422,
      [{ in: 'query', pointer, detail: expect.stringMatching(detail) }],
    ]);
  });

  it('for an unknown drive is reported', async () => {
    for (const path of ['required-support', 'missing-support', 'unsupported-length', 'before-next-stroke']) {
      const { status, body } = await app.http.get(`/v1/projects/P1/drives/NONE/${path}`);
      expect([path, status, body.detail]).toEqual([path, 404, 'There is no drive NONE in project P1.']);
    }
  });
});

describe('the database', () => {
  const refusal = async (sql: string): Promise<string> =>
    app.sql(`begin; ${sql}; set constraints all immediate; rollback`).then(
      () => 'taken',
      async (error: Error & { constraint?: string }) => {
        await app.sql('rollback');
        return error.constraint ?? error.message;
      },
    );
  const insert = (from: number, to: number): string =>
    `insert into design_section (drive_id, name, from_m, to_m, edition) select id, 'T', ${from}, ${to}, 'x' from drive where code = 'N'`;
  const item = (quantity: number, tolerance: number, unit = 'nr'): string =>
    `insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m, tolerance_percent)
     select s.project_id, s.id, i.id, '${unit}', 'L2', ${quantity}, ${tolerance} from standard_support s, support_item i, ground_class c
     where i.code = 'RIB' and c.id = s.ground_class_id and c.code = 'A'`;

  it.each([
    [insert(14.999, 20), 'design_section_once'],
    [insert(15, 20), 'taken'],
    [insert(20, 20), 'design_section_has_length'],
    [insert(20, 21).replace(`'x'`, `' '`), 'design_section_edition'],
    [`update standard_support set edition = ''`, 'standard_support_edition'],
    [insert(990, 1000.001), 'within_drive'],
    [item(0, 0), 'standard_support_item_demand'],
    [item(1, 100), 'standard_support_item_demand'],
    [item(1, -0.01), 'standard_support_item_demand'],
    [item(1, 0, 'm2'), 'standard_support_item_support_item_id_unit_project_id_fkey'],
    [item(1, 0), 'taken'],
    [`${item(1, 0)}; ${item(2, 0)}`, 'standard_support_item_once'],
    [
      `insert into standard_support (project_id, ground_class_id, edition) select project_id, ground_class_id, 'y' from standard_support`,
      'standard_support_ground_class_id_valid_from_key',
    ],
    [
      `insert into drive_support_limit (drive_id, zone, limit_m) select id, 'L1', -0.001 from drive`,
      'drive_support_limit_not_negative',
    ],
    [`update drive set start_chainage_m = 1201 where code = 'N'`, 'drive_start_fixed'],
    [`update drive set end_chainage_m = 1214 where code = 'N'`, 'drive_end_behind_design'],
    [`update drive set end_chainage_m = 1215 where code = 'N'`, 'taken'],
    [
      `delete from support_item where code = 'BOLT'`,
      'standard_support_item_support_item_id_unit_project_id_fkey',
    ],
    [`delete from ground_class where code = 'A'`, 'standard_support_ground_class_id_project_id_fkey'],
  ])('%s: %s', async (sql, said) => {
    expect(await refusal(sql)).toBe(said);
  });
});
