import type {
  MeasurementCheck,
  MeasurementRule,
} from '../../../src/features/payment/measurement/measurement.models.js';
import type { ProbeHole } from '../../../src/features/ahead/probing/probe-hole.model.js';
import type { LineSourcePage, Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { ShiftBuilder } from '../../builders/shift.js';
import { aBill, aDay, booked, PLACE, sent, startContract } from './contract.js';
import type { Office } from '../../harness/office.js';

// What a rule covers and its wording, on one shift; each expected quantity is computed beside it. π = 3.14159265358979.

let office: Office;

const SHIFT = (shift: ShiftBuilder): ShiftBuilder =>
  shift
    .withGround('A', '1+200', '1+202')
    .withGround('B', '1+202', '1+204')
    .withSupport('BOLT', '1+200', '1+204', '12')
    .withSupport('BOLT', '1+200', '1+202', '5', { zone: 'L2' })
    .withSupport('MESH', '1+200', '1+202', '16', { arcFromDeg: '270', arcToDeg: '90' })
    .withSupport('SPRAY', '1+202', '1+204', '2.5', { arcFromDeg: '240', arcToDeg: '120', thicknessMm: '60' })
    .withSupport('SHELL', '1+202', '1+204', '20', { thicknessMm: '50' })
    .withSupport('SHELL', '1+202', '1+204', '4')
    .withSupport('RIB', '1+203', undefined, '1')
    .withSupport('MESH', '1+200', '1+202', '3', { arcFromDeg: '90', arcToDeg: '90' });

interface Case {
  says: string;
  unit: string;
  decimals: number;
  rule: object;
  /** Quantity to date. */
  gives: string;
  sentence?: string;
}

const S = { source: 'support' };
const T = { source: 'advance' };

const CASES: Case[] = [
  {
    says: 'surface at the pay line: 4 m × π × 7.2 m',
    unit: 'm2',
    decimals: 3,
    rule: { ...T, dimension: 'area', payDiameterM: '7.2' },
    gives: '90.478',
    sentence:
      'The excavated surface of the bore at a pay line of 7.2 m diameter in countersigned shifts; in m2, rounded once to 3 decimals.',
  },
  {
    says: 'volume at the bored diameter in B: 2 m × π/4 × 7² m²',
    unit: 'm3',
    decimals: 3,
    rule: { ...T, dimension: 'volume', classes: ['B'] },
    gives: '76.969',
  },
  {
    says: 'bolts of L1 in A: half of 12',
    unit: 'nr',
    decimals: 0,
    rule: { ...S, dimension: 'count', items: ['BOLT'], zones: ['L1'], classes: ['A'] },
    gives: '6',
    sentence:
      'The number of pieces of support installed of BOLT in zone L1 where the governing ground class is A in countersigned shifts; in nr, rounded once to 0 decimals.',
  },
  {
    says: 'bolts of both zones by their length: 17 × 3 m, and 2 % added',
    unit: 'm',
    decimals: 2,
    rule: { ...S, dimension: 'length', kinds: ['bolt'], allowancePercent: '2' },
    gives: '52.02',
    sentence:
      'The length of the pieces of support installed of kind bolt in countersigned shifts; with 2 % added; in m, rounded once to 2 decimals.',
  },
  {
    says: 'at most 3 bolts a metre: 3 × 4 m of the 17',
    unit: 'nr',
    decimals: 0,
    rule: { ...S, dimension: 'count', items: ['BOLT'], maxPerM: '3' },
    gives: '12',
    sentence:
      'The number of pieces of support installed of BOLT in countersigned shifts; at most 3 nr per metre bored in that ground; in nr, rounded once to 0 decimals.',
  },
  {
    says: 'at least 6 bolts a metre of A: 6 × 2 m for 11',
    unit: 'nr',
    decimals: 0,
    rule: { ...S, dimension: 'count', items: ['BOLT'], classes: ['A'], minPerM: '6', maxPerM: '9' },
    gives: '12',
  },
  {
    says: 'mesh as counted',
    unit: 'm2',
    decimals: 1,
    rule: { ...S, dimension: 'area', items: ['MESH'] },
    gives: '19.0',
  },
  {
    says: 'mesh at the pay line: half a ring of 7 m by 2 m; from a place to the same place there is none',
    unit: 'm2',
    decimals: 3,
    rule: { ...S, dimension: 'area', items: ['MESH'], payDiameterM: '7' },
    gives: '21.991',
  },
  {
    says: 'sprayed concrete as counted: 2.5 m³, 20 m² of 50 mm, and 4 m² whose thickness is not known',
    unit: 'm3',
    decimals: 3,
    rule: { ...S, dimension: 'volume', kinds: ['sprayed_concrete'] },
    gives: '3.500',
  },
  {
    says: 'sprayed concrete at the pay line: two thirds of a ring of 7 m by 2 m by 60 mm',
    unit: 'm3',
    decimals: 4,
    rule: { ...S, dimension: 'volume', items: ['SPRAY'], payDiameterM: '7' },
    gives: '1.7593',
  },
  {
    says: 'mesh by mass: 19 m² × 3.5 kg/m²',
    unit: 'kg',
    decimals: 1,
    rule: { ...S, dimension: 'mass', items: ['MESH'] },
    gives: '66.5',
  },
  {
    says: 'time by what it counts as: 11 h',
    unit: 'h',
    decimals: 2,
    rule: { source: 'time', dimension: 'hours', timeClasses: ['planned_stop'], activities: ['MAINT'] },
    gives: '11.00',
    sentence:
      'The time booked under MAINT that counts as planned stop in countersigned shifts; in h, rounded once to 2 decimals.',
  },
  {
    says: 'probe holes by number: of four the one that was drilled in a countersigned shift',
    unit: 'nr',
    decimals: 0,
    rule: { source: 'probing', dimension: 'count' },
    gives: '1',
    sentence: 'The number of probe holes drilled in countersigned shifts; in nr, rounded once to 0 decimals.',
  },
];

let valuation: Valuation;
let rules: MeasurementRule[];

const referenceOf = (index: number): string => `R.${String(index + 1).padStart(2, '0')}`;

beforeAll(async () => {
  office = await startContract();
  const catalogue = `/v1/projects/P1/support-items`;
  await sent(office, 'olga', 'put', `${catalogue}/SHELL`, {
    kind: 'sprayed_concrete',
    unit: 'm2',
    description: 'Shell',
  });
  await sent(office, 'olga', 'put', `${catalogue}/MESH`, {
    kind: 'mesh',
    unit: 'm2',
    description: 'Mesh',
    massKgPerM2: '3.5',
  });
  await aBill(
    office,
    'V1',
    '2027-01-01',
    CASES.map(({ unit, decimals, rule }, index) => ({
      reference: referenceOf(index),
      unit,
      decimals,
      rate: '1',
      rule,
    })),
  );
  await booked(office, '2027-03-01', aDay('2027-03-01', 1, '1+200', '1+204', SHIFT));
  await sent(office, 'boris', 'put', `${PLACE}/probe-holes/PH1`, {
    collar: '1+204',
    lookOutDeg: '5',
    lengthM: '30',
    drilledAt: '2027-03-01T12:00:00Z',
  });
  // in the night, for which no shift is posted; and at an unknown time: neither is in a countersigned shift
  const hole = { collar: '1+204', lookOutDeg: '5', lengthM: '30' };
  await sent(office, 'boris', 'put', `${PLACE}/probe-holes/PH2`, {
    ...hole,
    drilledAt: '2027-03-01T18:00:00Z',
  });
  await sent(office, 'boris', 'put', `${PLACE}/probe-holes/PH3`, hole);
  await sent(office, 'boris', 'put', `${PLACE}/probe-holes/PH4`, {
    ...hole,
    drilledAt: '2027-03-02T12:00:00Z',
  });
  valuation = await sent(office, 'clara', 'put', `${PLACE}/valuations/1`, { cutOff: '2027-03-01' });
  rules = await sent(office, 'vera', 'get', `${PLACE}/bills/V1/rules`);
});

afterAll(() => office.close());

it.each(CASES.map((one, index) => [one.says, one, referenceOf(index)] as const))(
  '%s',
  (_, { gives, sentence }, reference) => {
    expect(valuation.lines.find((line) => line.reference === reference)?.toDateQuantity).toBe(gives);
    if (sentence) expect(rules.find((rule) => rule.reference === reference)?.sentence).toBe(sentence);
  },
);

it('a record that lacks what a rule needs is reported, and counts as 0', async () => {
  const reference = referenceOf(CASES.findIndex(({ gives }) => gives === '3.500'));
  expect(valuation.lines.find((line) => line.reference === reference)?.incompleteCount).toBe(1);
  const { items } = await sent<LineSourcePage>(
    office,
    'vera',
    'get',
    `${PLACE}/valuations/1/lines/${reference}/sources`,
  );
  expect(items.map(({ sourceKey, effect, quantity }) => [sourceKey, effect, quantity])).toEqual([
    ['2027-03-01/day/support/4', 'measured', '2.5'],
    ['2027-03-01/day/support/5', 'measured', '1'],
    ['2027-03-01/day/support/6', 'incomplete', '0'],
  ]);
});

it('a limit is a separate source', async () => {
  const reference = referenceOf(CASES.findIndex(({ says }) => says.startsWith('at most')));
  const { items } = await sent<LineSourcePage>(
    office,
    'vera',
    'get',
    `${PLACE}/valuations/1/lines/${reference}/sources`,
  );
  expect(items.find(({ sourceKey }) => sourceKey === 'limit')).toMatchObject({
    effect: 'limited',
    quantity: '-5',
  });
});

it('a page of sources continues where the previous one ended', async () => {
  const reference = referenceOf(3);
  const url = `${PLACE}/valuations/1/lines/${reference}/sources`;
  const all = await sent<LineSourcePage>(office, 'vera', 'get', url);
  const first = await sent<LineSourcePage>(office, 'vera', 'get', `${url}?first=1`);
  const rest = await sent<LineSourcePage>(office, 'vera', 'get', `${url}?first=100&after=${first.next}`);
  expect([...first.items, ...rest.items]).toEqual(all.items);
});

it('the check reports what is measured, what is not, and what is measured twice', async () => {
  const check = await sent<MeasurementCheck>(
    office,
    'vera',
    'get',
    `${PLACE}/measurement-check?until=2027-03-01`,
  );
  expect(check.rules.find(({ reference }) => reference === referenceOf(8))).toEqual({
    version: 'V1',
    reference: referenceOf(8),
    recordCount: 3,
    quantity: '3.5',
    heldQuantity: '0',
    unit: 'm3',
    incompleteCount: 1,
  });
  // half a ring by 2 m is 7 · π m², 21.9911485…: to six decimals in each answer
  const mesh = referenceOf(CASES.findIndex(({ gives }) => gives === '21.991'));
  const [inView] = await office.sql(
    `select trim_scale(quantity)::text as quantity from report.measured_by_rule('P1', 'N', '2027-03-01') where reference = '${mesh}'`,
  );
  const asked =
    '{ drive(project: "P1", drive: "N") { measurementCheck(until: "2027-03-01") { rules { reference quantity } } } }';
  const byGraphql = await sent<{ data: { drive: { measurementCheck: MeasurementCheck } } }>(
    office,
    'vera',
    'post',
    '/graphql',
    { query: asked },
  );
  const ofMesh = ({ rules }: MeasurementCheck) => rules.find(({ reference }) => reference === mesh)?.quantity;
  expect([ofMesh(check), ofMesh(byGraphql.data.drive.measurementCheck), inView?.['quantity']]).toEqual(
    Array(3).fill('21.991149'),
  );
  expect(check.unmeasured).toEqual([
    {
      source: 'probing',
      code: null,
      recordCount: 2,
      firstKey: 'probe-hole/PH2',
      lastKey: 'probe-hole/PH3',
      reason: 'no_countersigned_shift',
    },
    {
      source: 'support',
      code: 'RIB',
      recordCount: 1,
      firstKey: '2027-03-01/day/support/7',
      lastKey: '2027-03-01/day/support/7',
      reason: 'no_rule',
    },
    {
      source: 'time',
      code: 'BORE',
      recordCount: 1,
      firstKey: '2027-03-01/day/activity/2027-03-01T06:00:00Z',
      lastKey: '2027-03-01/day/activity/2027-03-01T06:00:00Z',
      reason: 'no_rule',
    },
  ]);
  expect((await sent<ProbeHole>(office, 'vera', 'get', `${PLACE}/probe-holes/PH1`)).shiftState).toBe(
    'countersigned',
  );
  expect((await sent<ProbeHole>(office, 'vera', 'get', `${PLACE}/probe-holes/PH2`)).shiftState).toBeNull();
  const query = `{ drive(project: "P1", drive: "N") { measurementCheck(until: "2027-03-01") { unmeasured { source recordCount reason } } } }`;
  const graph = await sent<{ data: { drive: { measurementCheck: MeasurementCheck } } }>(
    office,
    'vera',
    'post',
    '/graphql',
    { query },
  );
  expect(graph.data.drive.measurementCheck.unmeasured[0]).toEqual({
    source: 'probing',
    recordCount: 2,
    reason: 'no_countersigned_shift',
  });
  expect(
    check.twice
      .filter(({ reference }) => reference === referenceOf(6))
      .map(({ otherReference, recordCount }) => [otherReference, recordCount]),
  ).toEqual([
    [referenceOf(7), 2],
    [referenceOf(10), 2],
  ]);
});

it('a probe hole without a time of drilling is named by the draft that leaves it out', async () => {
  expect(valuation.probeHolesWithoutTime).toEqual(['PH3']);
  const { body } = await office.http.post('/graphql').set(office.headersOf('vera')).send({
    query: '{ drive(project: "P1", drive: "N") { valuation(number: 1) { probeHolesWithoutTime } } }',
  });
  expect(body.data.drive.valuation).toEqual({ probeHolesWithoutTime: ['PH3'] });
  const [row] = await office.sql(
    `select probe_holes_without_time as names from report.valuation_summary where valuation_number = 1`,
  );
  expect(row).toEqual({ names: ['PH3'] });
});
