import { ruleFaults } from '../../../src/features/payment/measurement/rule-faults.js';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Kinds and units of support as used in the trade, each with its measures worked by hand beside it. Rules: docs/calculations.md,
// "What support measures".

const P = '/v1/projects/P1';

/** [code, item, quantity of the line, what it measures] */
const CASES: [string, Record<string, string>, string, Record<string, string>][] = [
  // 12 girders of 6.5 m at 14 kg/m: 78 m, 1092 kg.
  [
    'LG-NR',
    { kind: 'lattice_girder', unit: 'nr', lengthM: '6.5', massKgPerM: '14' },
    '12',
    { totalLengthM: '78.000', massKg: '1092.000' },
  ],
  // 78 m of it: the same mass.
  [
    'LG-M',
    { kind: 'lattice_girder', unit: 'm', massKgPerM: '14' },
    '78',
    { totalLengthM: '78.000', massKg: '1092.000' },
  ],
  ['LG-KG', { kind: 'lattice_girder', unit: 'kg' }, '1092', { massKg: '1092.000' }],
  ['LG-T', { kind: 'lattice_girder', unit: 't' }, '1.092', { massKg: '1092.000' }],
  // Two full rings on 6.8 m: 2 π 6.8 = 42.72566 m, by 29 kg/m 1239.044 kg.
  [
    'LG-RING',
    { kind: 'lattice_girder', unit: 'nr', centreLineDiameterM: '6.8', massKgPerM: '29' },
    '2',
    { totalLengthM: '42.726', massKg: '1239.044' },
  ],
  ['RIB-T', { kind: 'rib', unit: 't' }, '0.5', { massKg: '500.000' }],
  ['MESH-KG', { kind: 'mesh', unit: 'kg' }, '70.4', { massKg: '70.400' }],
  // Timber: 8 m² at 25 kg/m²; 6 boards of 18 kg.
  ['LAG-M2', { kind: 'lagging', unit: 'm2', massKgPerM2: '25' }, '8', { areaM2: '8.000', massKg: '200.000' }],
  ['LAG-NR', { kind: 'lagging', unit: 'nr', massKg: '18' }, '6', { massKg: '108.000' }],
  [
    'FILL',
    { kind: 'cavity_fill', unit: 'm3' },
    '2.75',
    { placedVolumeM3: '2.750', deliveredVolumeM3: '3.000' },
  ],
  ['FILL-T', { kind: 'cavity_fill', unit: 't' }, '1.5', { massKg: '1500.000' }],
  ['CAST', { kind: 'cast_concrete', unit: 'm3' }, '14', { placedVolumeM3: '14.000' }],
  // 4 drains of 8 m; 32 m of drain.
  ['DRAIN', { kind: 'drain', unit: 'nr', lengthM: '8', diameterMm: '64' }, '4', { totalLengthM: '32.000' }],
  ['DRAIN-M', { kind: 'drain', unit: 'm' }, '32', { totalLengthM: '32.000' }],
];

const FIGURES = [
  'totalLengthM',
  'areaM2',
  'grossAreaM2',
  'massKg',
  'theoreticalVolumeM3',
  'deliveredVolumeM3',
  'placedVolumeM3',
];

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const shift = aShift();
  for (const [code, item, quantity, { deliveredVolumeM3 }] of CASES) {
    const { status, text } = await app.http
      .put(`${P}/support-items/${code}`)
      .send({ description: code, ...item });
    expect([status, text]).toEqual([201, expect.anything()]);
    shift.withSupport(code, '1+200', '1+210', quantity, deliveredVolumeM3 ? { deliveredVolumeM3 } : {});
  }
  const { status, text } = await app.http.put(`${P}/drives/N/shifts/2027-03-01/day`).send(shift.build());
  expect([status, text]).toEqual([201, expect.anything()]);
});

afterAll(() => app.close());

it('each kind measures what its unit and dimensions give, and nothing is missing', async () => {
  const { body } = await app.http.get(`${P}/drives/N/support-measures`);
  const rows = body.items as Record<string, unknown>[];
  const shown = rows
    .filter(({ item }) => CASES.some(([code]) => code === item))
    .map((row) => [
      row['item'],
      Object.fromEntries(FIGURES.flatMap((figure) => (row[figure] == null ? [] : [[figure, row[figure]]]))),
      row['missing'],
    ]);
  const expected = CASES.map(([code, , , figures]) => [code, figures, []]);
  expect(shown).toEqual(expected.sort(([one], [other]) => (String(one) < String(other) ? -1 : 1)));
});

it('GraphQL names the same kinds and units', async () => {
  const query = `{ project(project: "P1") { supportItems { code kind unit } } }`;
  const { body } = await app.http.post('/graphql').send({ query });
  for (const [code, { kind, unit }] of CASES)
    expect(body.data.project.supportItems).toContainEqual({ code, kind, unit });
});

it.each([
  [{ kind: 'lagging', unit: 'm3' }, '/unit', 'unit m3 does not fit a lagging: it is counted in nr or m2'],
  [{ kind: 'cast_concrete', unit: 't' }, '/unit', 'unit t does not fit a cast concrete: it is counted in m3'],
  [
    { kind: 'cavity_fill', unit: 'm3', diameterMm: '64' },
    '/diameterMm',
    'diameterMm does not fit a cavity fill: it belongs to bolt or spile or drain',
  ],
])('%j is refused', async (item, pointer, detail) => {
  const { status, body } = await app.http.put(`${P}/support-items/X`).send({ description: 'X', ...item });
  expect([status, body.errors]).toEqual([422, [expect.objectContaining({ pointer, detail })]]);
});

it('a volume is delivered of what is counted by volume only', async () => {
  for (const [item, detail] of [
    ['LAG-M2', /a delivered volume belongs to sprayed concrete, cast concrete or cavity fill/],
    ['FILL-T', /FILL-T is counted in t: it has no delivered volume/],
  ] as const) {
    const shift = aShift('2027-03-02').withSupport(item, '1+200', '1+210', '1', { deliveredVolumeM3: '1' });
    const { status, body } = await app.http.put(`${P}/drives/N/shifts/2027-03-02/day`).send(shift.build());
    expect([status, body.errors[0].detail]).toEqual([422, expect.stringMatching(detail)]);
  }
});

describe('a measurement rule', () => {
  const FACTORS: [string, string, Record<string, number>, string | null][] = [
    ['count', 'nr', {}, '1'],
    ['count', 'm', {}, null],
    ['length', 'm', {}, '1'],
    ['length', 'nr', { length_m: 8 }, '8'],
    ['length', 'kg', { length_m: 8 }, null],
    ['mass', 'kg', {}, '1'],
    ['mass', 't', {}, '1000'],
    ['mass', 'm', { mass_kg_per_m: 14 }, '14'],
    ['mass', 'nr', { mass_kg_per_m: 14, length_m: 6.5 }, '91'],
    ['mass', 'm3', { mass_kg: 5 }, null],
    ['area', 'm2', {}, '1'],
    ['volume', 'm3', {}, '1'],
    ['volume', 't', {}, null],
  ];

  it.each(FACTORS)('takes %s of a %s with %j as %s', async (dimension, unit, item, factor) => {
    const given = Object.entries(item)
      .map(([name, value]) => `, ${name} => ${value}`)
      .join('');
    const absent = [
      'length_m',
      'mass_kg_per_m',
      'mass_kg_per_m2',
      'mass_kg',
      'centre_line_diameter_m',
      'thickness_mm',
    ]
      .filter((name) => !(name in item))
      .map((name) => `, ${name} => null`)
      .join('');
    const [row] = await app.sql<{ factor: string | null }>(
      `select trim_scale(report.support_per_unit(dimension => '${dimension}', unit => '${unit}'${given}${absent})) as factor`,
    );
    expect(row?.factor).toBe(factor);
  });

  it('is refused where the unit of an item has no such measure', () => {
    const item = (unit: string, hasMass: boolean) => ({ code: 'I', unit, hasLength: false, hasMass });
    const faults = (
      dimension: 'length' | 'mass' | 'volume' | 'count',
      unit: string,
      of: string,
      hasMass = false,
    ) =>
      ruleFaults(
        { source: 'support', dimension, items: ['I'] },
        { unit, items: [item(of, hasMass)], zones: [], classes: [], activities: [] },
      ).map(({ detail }) => detail);
    expect(faults('length', 'm', 'm')).toEqual([]);
    expect(faults('mass', 't', 'kg', true)).toEqual([]);
    expect(faults('volume', 'm3', 'm3')).toEqual([]);
    expect(faults('length', 'm', 't')).toEqual(['I is counted in t: it has no length']);
    expect(faults('volume', 'm3', 'kg')).toEqual(['I is counted in kg: it has no volume']);
    expect(faults('count', 'nr', 'm')).toEqual(['I is counted in m: it has no count']);
    expect(faults('mass', 'kg', 'm3')).toEqual(['I has no mass in the catalogue']);
  });
});
