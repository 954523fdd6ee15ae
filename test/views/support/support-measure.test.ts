import { aProject } from '../../builders/project.js';
import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// What support measures, worked by hand beside each case on a bored diameter of 7 m. Rules: docs/calculations.md.

let app: TestApp;
const P = '/v1/projects/P1';

type Row = Record<string, unknown>;

interface Page {
  items: Row[];
  next?: number;
  caution: string;
}

const putItem = (code: string, item: object) => app.http.put(`${P}/support-items/${code}`).send(item);

const post = async (drive: string, shift: ShiftBuilder): Promise<Row> => {
  const url = `${P}/drives/${drive}/shifts/${shift.date}/${shift.shift}`;
  const { status, text, body } = await app.http.put(url).send(shift.build());
  if (status > 201) throw new Error(text);
  return body as Row;
};

const aDriveOf = async (drive: string): Promise<void> => {
  const { status } = await app.http.put(`${P}/drives/${drive}`).send({
    name: 'Trial drive',
    startChainage: '1+200',
    endChainage: '1+220',
    direction: 1,
    boredDiameterM: '7',
  });
  expect(status).toBe(201);
};

const read = async (drive: string, path = ''): Promise<Row[]> =>
  (await app.http.get(`${P}/drives/${drive}/support-measures${path}`)).body.items as Row[];

const cells = (rows: Row[], ...names: string[]): unknown[][] =>
  rows.map((row) => names.map((name) => row[name]));

const ITEMS: Record<string, object> = {
  BOLT: {
    kind: 'bolt',
    unit: 'nr',
    description: 'Bolt 3 m',
    lengthM: '3',
    diameterMm: '25',
    circumferentialSpacingM: '1.5',
    longitudinalSpacingM: '1.5',
    patternArcDeg: '120',
  },
  MESH: {
    kind: 'mesh',
    unit: 'm2',
    description: 'Mesh',
    massKgPerM2: '4.4',
    lapPercent: '15',
    sheetLengthM: '3',
    sheetWidthM: '2',
  },
  RIB: {
    kind: 'rib',
    unit: 'nr',
    description: 'Ring',
    massKgPerM: '30',
    centreLineDiameterM: '6.8',
    longitudinalSpacingM: '1.5',
  },
  ARCH: { kind: 'rib', unit: 'nr', description: 'Arch', massKgPerM: '29', lengthM: '5.2' },
  SPRAY: {
    kind: 'sprayed_concrete',
    unit: 'm3',
    description: 'Sprayed concrete',
    theoreticalThicknessMm: '100',
    reboundPercent: '25',
    overbreakPercent: '20',
  },
  SKIN: {
    kind: 'sprayed_concrete',
    unit: 'm2',
    description: 'Sealing',
    theoreticalThicknessMm: '50',
    reboundPercent: '10',
    overbreakPercent: '0',
  },
  SPILE: { kind: 'spile', unit: 'nr', description: 'Spile', lengthM: '4', diameterMm: '32' },
  INVERT: { kind: 'invert_segment', unit: 'nr', description: 'Invert', lengthM: '1.5', massKg: '2400' },
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  for (const [code, item] of Object.entries(ITEMS))
    expect((await putItem(code, item)).body).toMatchObject({ code });
  await aDriveOf('H');
  // Class A to 1+206, class B from there to 1+210; nothing noted beyond.
  await post(
    'H',
    aShift('2027-03-01')
      .withGround('A', '1+200', '1+206')
      .withSupport('BOLT', '1+200', '1+203', '14')
      .withSupport('BOLT', '1+209', undefined, '7', { arcFromDeg: '300', arcToDeg: '60' })
      .withSupport('MESH', '1+204', '1+208', '40')
      .withSupport('SPILE', '1+206', undefined, '5')
      .withSupport('INVERT', '1+200', '1+203', '2', { zone: 'L2' }),
  );
  await post(
    'H',
    aShift('2027-03-02')
      .withGround('B', '1+206', '1+210')
      .withSupport('RIB', '1+206', undefined, '1')
      .withSupport('ARCH', '1+211', undefined, '2')
      .withSupport('SPRAY', '1+200', '1+210', '14.5', {
        zone: 'L2',
        arcFromDeg: '270',
        arcToDeg: '90',
        deliveredVolumeM3: '17.6',
      })
      .withSupport('SKIN', '1+208', '1+212', '30', { thicknessMm: '60', deliveredVolumeM3: '2.5' }),
  );
});

afterAll(() => app.close());

describe('the measure of support', () => {
  it('is reported by item and zone', async () => {
    const items = await read('H');
    expect(cells(items, 'item', 'zone', 'quantity', 'rowCount', 'incompleteCount', 'missing')).toEqual([
      ['ARCH', 'L1', '2.000', 1, 0, []],
      ['BOLT', 'L1', '21.000', 2, 0, []],
      ['INVERT', 'L2', '2.000', 1, 0, []],
      ['MESH', 'L1', '40.000', 1, 0, []],
      ['RIB', 'L1', '1.000', 1, 0, []],
      ['SKIN', 'L1', '30.000', 1, 0, []],
      ['SPILE', 'L1', '5.000', 1, 0, []],
      ['SPRAY', 'L2', '14.500', 1, 0, []],
    ]);
    // 21 bolts · 3 m, 2 segments · 1.5 m, 5 spiles · 4 m.
    // Bolts: an arc of 120° is π·7/3 = 7.330383 m. · 3 m = 21.991 m² by the pattern's arc; the row of the line's arc, over the
    // crown, represents 1.5 m: 10.996 m². 21 / 32.987 = 0.6366.
    // Sprayed: 180° is 10.995574 m; · 10 m = 109.956 m².
    expect(cells(items, 'item', 'totalLengthM', 'areaM2', 'numberPerM2')).toEqual([
      ['ARCH', null, null, null],
      ['BOLT', '63.000', '32.987', '0.6366'],
      ['INVERT', '3.000', null, null],
      ['MESH', null, '40.000', null],
      ['RIB', null, null, null],
      ['SKIN', null, '30.000', null],
      ['SPILE', '20.000', null, null],
      ['SPRAY', null, '109.956', null],
    ]);
    // 2 · 29 · 5.2; 2 · 2400; 40 · 1.15 = 46 m² · 4.4; 30 · π · 6.8 = 30 · 21.3628300 = 640.8849.
    expect(cells(items, 'item', 'grossAreaM2', 'massKg')).toEqual([
      ['ARCH', null, '301.600'],
      ['BOLT', null, null],
      ['INVERT', null, '4800.000'],
      ['MESH', '46.000', '202.400'],
      ['RIB', null, '640.885'],
      ['SKIN', null, null],
      ['SPILE', null, null],
      ['SPRAY', null, null],
    ]);
  });

  it('is reported for sprayed concrete in volumes and thickness', async () => {
    const sprayed = (await read('H')).filter(({ kind }) => kind === 'sprayed_concrete');
    // SKIN: 30 m² · the line's 60 mm = 1.8 m³; / 0.9 = 2; 2.5 · 0.9 = 2.25; 2.5/1.8; 2.25/30 = 75 mm.
    // SPRAY: 10.995574 · 10 · 0.1 = 10.996 m³; · 1.2 / 0.75 = 17.593; 17.6 · 0.75 = 13.2; 17.6/10.996; 13.2/109.956 = 120.0 mm.
    expect(
      cells(sprayed, 'theoreticalVolumeM3', 'expectedVolumeM3', 'deliveredVolumeM3', 'placedVolumeM3'),
    ).toEqual([
      ['1.800', '2.000', '2.500', '2.250'],
      ['10.996', '17.593', '17.600', '13.200'],
    ]);
    expect(cells(sprayed, 'volumeFactor', 'meanThicknessMm')).toEqual([
      ['1.3889', '75.0'],
      ['1.6006', '120.0'],
    ]);
  });

  it('is divided at the ground classes', async () => {
    const names = ['groundClass', 'item', 'quantity', 'areaM2', 'massKg', 'deliveredVolumeM3'];
    // MESH: half of it before 1+206. SPRAY: 6 and 4 of 10 m; SKIN: 2 of 4 m in B. The bolts at 1+209 lie in B, the arches at
    // 1+211 where nothing is noted. 109.956 · 0.6 = 65.974; the rest is 43.982.
    expect(cells(await read('H', '/ground-classes'), ...names)).toEqual([
      ['A', 'BOLT', '14.000', '21.991', null, null],
      ['A', 'INVERT', '2.000', null, '4800.000', null],
      ['A', 'MESH', '20.000', '20.000', '101.200', null],
      ['A', 'SPRAY', '8.700', '65.974', null, '10.560'],
      ['B', 'BOLT', '7.000', '10.996', null, null],
      ['B', 'MESH', '20.000', '20.000', '101.200', null],
      ['B', 'RIB', '1.000', null, '640.885', null],
      ['B', 'SKIN', '15.000', '15.000', null, '1.250'],
      ['B', 'SPILE', '5.000', null, null, null],
      ['B', 'SPRAY', '5.800', '43.982', null, '7.040'],
      [null, 'ARCH', '2.000', null, '301.600', null],
      [null, 'SKIN', '15.000', '15.000', null, '1.250'],
    ]);
  });

  it('counts on its production day', async () => {
    const rows = await read('H', '/days');
    expect(cells(rows, 'productionDay', 'item', 'massKg')).toEqual([
      ['2027-03-01', 'BOLT', null],
      ['2027-03-01', 'INVERT', '4800.000'],
      ['2027-03-01', 'MESH', '202.400'],
      ['2027-03-01', 'SPILE', null],
      ['2027-03-02', 'ARCH', '301.600'],
      ['2027-03-02', 'RIB', '640.885'],
      ['2027-03-02', 'SKIN', null],
      ['2027-03-02', 'SPRAY', null],
    ]);
  });

  it('is divided at round chainages, a page of intervals at a time', async () => {
    const url = `${P}/drives/H/support-measures/intervals`;
    const names = ['interval', 'from', 'to', 'item', 'quantity', 'areaM2', 'theoreticalVolumeM3'];
    const page = async (more: string) =>
      (await app.http.get(`${url}?${more}`)).body as Row & { items: Row[] };
    const first = await page('lengthM=5&first=1');
    // MESH: 1 of 4 m; SPRAY: half, 109.956 / 2 and 10.996 / 2.
    expect(cells(first.items, ...names)).toEqual([
      [0, '1+200.000', '1+205.000', 'BOLT', '14.000', '21.991', null],
      [0, '1+200.000', '1+205.000', 'INVERT', '2.000', null, null],
      [0, '1+200.000', '1+205.000', 'MESH', '10.000', '10.000', null],
      [0, '1+200.000', '1+205.000', 'SPRAY', '7.250', '54.978', '5.498'],
    ]);
    expect(first).toMatchObject({ next: 0, caution: expect.stringContaining('designer and the local code') });
    const second = await page('lengthM=5&first=2&after=0');
    expect(cells(second.items, ...names)).toEqual([
      [1, '1+205.000', '1+210.000', 'BOLT', '7.000', '10.996', null],
      [1, '1+205.000', '1+210.000', 'MESH', '30.000', '30.000', null],
      [1, '1+205.000', '1+210.000', 'RIB', '1.000', null, null],
      [1, '1+205.000', '1+210.000', 'SKIN', '15.000', '15.000', '0.900'],
      [1, '1+205.000', '1+210.000', 'SPILE', '5.000', null, null],
      [1, '1+205.000', '1+210.000', 'SPRAY', '7.250', '54.978', '5.498'],
      [2, '1+210.000', '1+215.000', 'ARCH', '2.000', null, null],
      [2, '1+210.000', '1+215.000', 'SKIN', '15.000', '15.000', '0.900'],
    ]);
    expect(second['next']).toBeNull();
    // By 1 m: nothing lies beyond 1+212, and the arches of 1+211 lie in the twelfth, with half of SKIN's last 2 m.
    expect(await page('first=9&lengthM=1&after=11')).toMatchObject({ items: [] });
    expect((await page('first=1&lengthM=1&after=10')).items[0]).toMatchObject({ interval: 11, item: 'ARCH' });
  });

  it('is the same by GraphQL and by SQL', async () => {
    const cuts: [field: string, path: string][] = [
      ['supportMeasures', ''],
      ['supportMeasuresByDay', '/days'],
      ['supportMeasuresByGroundClass', '/ground-classes'],
      ['supportMeasuresByInterval', '/intervals?lengthM=5&first=2'],
    ];
    const rest: Row = {};
    const fields: string[] = [];
    for (const [field, path] of cuts) {
      const { body } = await app.http.get(`${P}/drives/H/support-measures${path}`);
      rest[field] = body;
      const columns = Object.keys(body.items[0]);
      if ('next' in body) {
        const figures = columns.filter((name) => !['interval', 'from', 'to'].includes(name)).join(' ');
        fields.push(`${field}(lengthM: 5, first: 2) { caution nodes { interval from to items { ${figures} } }
          pageInfo { hasNextPage endCursor } }`);
      } else fields.push(`${field} { caution items { ${columns.join(' ')} } }`);
    }
    const query = `{ drive(project: "P1", drive: "H") { ${fields.join(' ')} } }`;
    const { supportMeasuresByInterval: cut, ...others } = (await app.http.post('/graphql').send({ query }))
      .body.data.drive as {
      supportMeasuresByInterval: { nodes: (Row & { items: Row[] })[]; pageInfo: object; caution: string };
    };
    const { supportMeasuresByInterval: page, ...whole } = rest as Record<string, Page>;
    expect(others).toEqual(whole);
    // an entry is an interval; in REST, a row of it
    expect(cut.nodes.length).toBe(2);
    const rows = cut.nodes.flatMap(({ items, ...interval }) =>
      items.map((item) => ({ ...interval, ...item })),
    );
    expect({ items: rows, caution: cut.caution }).toEqual({ items: page?.items, caution: page?.caution });
    expect(cut.pageInfo).toEqual({ hasNextPage: true, endCursor: String(page?.next) });
    const sql = await app.sql(
      `select kind, sum(mass_kg)::text as kg, sum(expected_volume_m3)::text as m3 from report.support_measure_by_interval
       where drive_code = 'H' and kind in ('mesh', 'sprayed_concrete') group by kind order by kind`,
    );
    expect(sql).toEqual([
      { kind: 'mesh', kg: '202.400', m3: null },
      { kind: 'sprayed_concrete', kg: null, m3: '19.593' },
    ]);
  });

  it('includes what is at the very end in the last interval, and is 404 for an unknown drive', async () => {
    await aDriveOf('E');
    await post('E', aShift('2027-03-05').withSupport('RIB', '1+220', undefined, '1'));
    expect(cells(await read('E', '/intervals?lengthM=5'), 'interval', 'to', 'massKg')).toEqual([
      [3, '1+220.000', '640.885'],
    ]);
    const after = (await app.http.get(`${P}/drives/E/support-measures/intervals?lengthM=5&after=3`)).body;
    expect(after).toEqual({ items: [], next: null, caution: expect.any(String) });
    expect((await app.http.get(`${P}/drives/NOPE/support-measures`)).status).toBe(404);
    expect((await app.http.get(`${P}/drives/NOPE/support-measures/intervals`)).status).toBe(404);
    expect((await app.http.get(`${P}/drives/E/support-measures/intervals?lengthM=0`)).status).toBe(422);
  });
});

describe('where inputs are missing', () => {
  const BARE: Record<string, object> = {
    BOLT0: { kind: 'bolt', unit: 'nr', description: 'Bolt' },
    MESH0: { kind: 'mesh', unit: 'm2', description: 'Mesh', massKgPerM2: '4.4' },
    RIB0: { kind: 'rib', unit: 'nr', description: 'Rib' },
    SPRAY0: { kind: 'sprayed_concrete', unit: 'm3', description: 'Sprayed concrete' },
    SPILE0: { kind: 'spile', unit: 'nr', description: 'Spile' },
    INVERT0: { kind: 'invert_segment', unit: 'nr', description: 'Invert' },
  };

  beforeAll(async () => {
    await aDriveOf('M');
    for (const [code, item] of Object.entries(BARE)) expect((await putItem(code, item)).status).toBe(201);
  });

  it('no figure is guessed, and what is missing is reported', async () => {
    const shift = aShift('2027-03-10');
    for (const item of Object.keys(BARE)) shift.withSupport(item, '1+201', undefined, '1');
    await post('M', shift);
    const rows = await read('M');
    const figures = ['totalLengthM', 'grossAreaM2', 'massKg', 'theoreticalVolumeM3', 'expectedVolumeM3'];
    const quotients = ['numberPerM2', 'placedVolumeM3', 'volumeFactor', 'meanThicknessMm'];
    expect(new Set(cells(rows, ...figures, ...quotients).flat())).toEqual(new Set([null]));
    expect(cells(rows, 'item', 'incompleteCount', 'missing')).toEqual([
      [
        'BOLT0',
        1,
        [
          'arc of the line or of the pattern',
          'interval of the line or spacing of the pattern',
          'length of the item',
        ],
      ],
      ['INVERT0', 1, ['length of the item', 'mass of the item']],
      ['MESH0', 1, ['lap allowance of the item']],
      ['RIB0', 1, ['length or centre-line diameter of the item', 'mass by length of the item']],
      ['SPILE0', 1, ['length of the item']],
      [
        'SPRAY0',
        1,
        [
          'arc of the line',
          'delivered volume of the line',
          'interval of the line',
          'overbreak allowance of the item',
          'rebound of the item',
          'thickness of the line or the item',
        ],
      ],
    ]);
  });

  it('a quotient covers the lines that have both its figures', async () => {
    await aDriveOf('Q');
    await putItem('COAT', {
      kind: 'sprayed_concrete',
      unit: 'm2',
      description: 'Coat',
      reboundPercent: '10',
    });
    await post(
      'Q',
      aShift('2027-03-11')
        .withSupport('COAT', '1+200', '1+202', '10', { thicknessMm: '60', deliveredVolumeM3: '0.9' })
        .withSupport('COAT', '1+202', '1+204', '10', { deliveredVolumeM3: '0.7' })
        .withSupport('SKIN', '1+200', '1+202', '10', { deliveredVolumeM3: '0.6' })
        .withSupport('SKIN', '1+202', '1+204', '10')
        .withSupport('BOLT', '1+200', '1+203', '14')
        .withSupport('BOLT', '1+203', undefined, '1', { arcFromDeg: '90', arcToDeg: '90' }),
    );
    const [bolt, coat, skin] = await read('Q');
    // only the line with a thickness is compared: 10 m² · 60 mm = 0.6 m³, and 0.9 m³ delivered
    expect(coat).toMatchObject({
      deliveredVolumeM3: '1.600',
      comparedTheoreticalVolumeM3: '0.600',
      comparedDeliveredVolumeM3: '0.900',
      volumeFactor: '1.5000',
    });
    // A bolt at a position on the ring has no area: 14 / 21.991, not 15.
    expect(bolt).toMatchObject({
      quantity: '15.000',
      numberPerM2: '0.6366',
      incompleteCount: 1,
      missing: ['arc of the line or of the pattern'],
    });
    // 10 m² · 50 mm = 0.5 m³ each; 0.6 / 0.5; 0.6 · 0.9 / 10 m² = 54 mm.
    expect(skin).toMatchObject({
      theoreticalVolumeM3: '1.000',
      deliveredVolumeM3: '0.600',
      comparedTheoreticalVolumeM3: '0.500',
      comparedDeliveredVolumeM3: '0.600',
      volumeFactor: '1.2000',
      meanThicknessMm: '54.0',
      incompleteCount: 1,
      missing: ['delivered volume of the line'],
    });
  });

  it('a dimension given later counts, but not as of a moment before', async () => {
    await aDriveOf('L');
    await post('L', aShift('2027-03-12').withSupport('SPILE0', '1+200', undefined, '5'));
    const [before] = await app.sql<{ at: Date }>(`select max(made_at) as at from history.change`);
    await putItem('SPILE0', { ...BARE['SPILE0'], lengthM: '6' });
    expect(cells(await read('L'), 'totalLengthM', 'incompleteCount')).toEqual([['30.000', 0]]);
    const then = await read('L', `?asOf=${before?.at.toISOString()}`);
    expect(cells(then, 'totalLengthM', 'incompleteCount')).toEqual([[null, 1]]);
  });
});
