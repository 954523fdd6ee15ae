import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { aDrive } from '../../builders/project.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, type Item, sent, startContract } from './contract.js';

// Equal shares: the rest goes to the first by class, along the drive or in the bill, whichever was written first. By hand, from 10 m² of mesh over
// three metres of three classes, 10 m³ over seven metres and seven rings of 580 kg, one per metre.
// A third of 10 is rounded down to 3.3, so 0.1 is left; a seventh to 1.4, so 0.2 is left; 0.58 t to 0.5 of 4.06 → 4.1 t, so 0.6 is left.
// The same by fractions, and with parts kept to 10⁻⁹: (3.333333333, 3.333333334, 3.333333333), which are equal to a millionth of a step.

let office: Office;

const MESH = { source: 'support', dimension: 'area', items: ['MESH'] };

const item = (reference: string, unit: string, rule: object): Item => ({
  reference,
  unit,
  decimals: 1,
  rate: '10',
  rule,
});

/** M.Z, M.AB and M.A divide the mesh by class, in an order that is neither that of the codes nor that of the ground. */
const ITEMS = [
  item('M', 'm2', MESH),
  item('M.AB', 'm2', { ...MESH, classes: ['AB'] }),
  item('M.Z', 'm2', { ...MESH, classes: ['Z'] }),
  item('M.A', 'm2', { ...MESH, classes: ['A'] }),
  item('S', 'm3', { source: 'support', dimension: 'volume', items: ['SPRAY'] }),
  item('R', 't', { source: 'support', dimension: 'mass', items: ['TH29'] }),
];

beforeAll(async () => {
  office = await startContract();
  for (const code of ['Z', 'AB'])
    // in this order, so that the ids of the classes do not follow their codes
    await sent(office, 'olga', 'put', `/v1/projects/P1/ground-classes/${code}`, { description: code });
});

afterAll(() => office.close());

interface Share {
  reference: string;
  groundClass: string | null;
  fromChainage: string | null;
  quantity: string;
  heldQuantity: string;
}

const DRIVES = [
  { drive: 'UP', direction: 1, at: (m: number) => `1+${200 + m}`, lower: (m: number) => `1+${200 + m}.000` },
  {
    drive: 'DOWN',
    direction: -1,
    at: (m: number) => `1+${300 - m}`,
    lower: (m: number) => `1+${300 - m}.000`,
  },
] as const;

describe.each(DRIVES)('of the drive $drive', ({ drive, direction, at, lower }) => {
  const place = `/v1/projects/P1/drives/${drive}`;
  let valuation: Valuation;

  const split = (by: string): Promise<Share[]> => sent(office, 'vera', 'get', `${place}/valuations/1/${by}`);
  const of = (shares: Share[], reference: string) => shares.filter((share) => share.reference === reference);

  beforeAll(async () => {
    const ends =
      direction === 1
        ? { startChainage: '1+200', endChainage: '1+300' }
        : { startChainage: '1+300', endChainage: '1+200' };
    await aDrive(office.as('olga'), { drive, direction, ...ends });
    await aBill(office, 'V1', '2027-01-01', ITEMS, 'EUR', drive);
    const day = aDay('2027-03-01', 1, at(0), at(10), (shift) => {
      shift
        .withGround('Z', at(0), at(1))
        .withGround('AB', at(1), at(2))
        .withGround('A', at(2), at(3))
        .withGround('B', at(3), at(10));
      return shift
        .withSupport('MESH', at(0), at(3), '10')
        .withSupport('SPRAY', at(3), at(10), '10')
        .withSupport('TH29', at(3), at(10), '7');
    });
    await booked(office, '2027-03-01', day, place);
    valuation = await sent(office, 'clara', 'put', `${place}/valuations/1`, { cutOff: '2027-03-31' });
  });

  it('lines that divide the same records: the first in the bill', () => {
    expect(valuation.lines.map(({ reference, toDateQuantity }) => [reference, toDateQuantity])).toEqual([
      ['M', '10.0'],
      ['M.AB', '3.4'],
      ['M.Z', '3.3'],
      ['M.A', '3.3'],
      ['S', '10.0'],
      ['R', '4.1'],
    ]);
  });

  it('three classes: the first by code', async () => {
    expect(
      of(await split('ground-classes'), 'M').map((share) => [share.groundClass, share.quantity]),
    ).toEqual([
      ['A', '3.4'],
      ['AB', '3.3'],
      ['Z', '3.3'],
    ]);
  });

  it('three, and seven, intervals: the first along the drive', async () => {
    const shares = await split('intervals?lengthM=1');
    const along = (reference: string) =>
      of(shares, reference)
        .map(({ fromChainage, quantity }) => [fromChainage, quantity])
        .sort(([a = ''], [b = '']) => direction * String(a).localeCompare(String(b)));
    expect(along('M')).toEqual([0, 1, 2].map((m) => [lower(m), m === 0 ? '3.4' : '3.3']));
    expect(along('S')).toEqual([3, 4, 5, 6, 7, 8, 9].map((m) => [lower(m), m < 5 ? '1.5' : '1.4']));
    expect(along('R')).toEqual([3, 4, 5, 6, 7, 8, 9].map((m) => [lower(m), m < 9 ? '0.6' : '0.5']));
  });

  it('held quantities: likewise, separately', async () => {
    await sent(office, 'boris', 'post', `${place}/quantity-disputes`, {
      reference: 'S',
      sourceKey: '2027-03-01/day/support/2',
      reason: 'not seen',
    });
    const shares = of(await split('intervals?lengthM=1'), 'S').sort(
      (a, b) => direction * String(a.fromChainage).localeCompare(String(b.fromChainage)),
    );
    expect(shares.map(({ quantity, heldQuantity }) => [quantity, heldQuantity])).toEqual(
      [3, 4, 5, 6, 7, 8, 9].map((m) => ['0', m < 5 ? '1.5' : '1.4']),
    );
  });
});

it('percentages of three classes: the first by code', async () => {
  await aDrive(office.as('olga'), { drive: 'THREE' });
  const place = '/v1/projects/P1/drives/THREE';
  const expected = ['Z', 'A', 'AB'];
  await sent(office, 'olga', 'put', `${place}/baselines/three`, {
    workingHoursPerDay: '20',
    intervals: [...expected, 'B'].map((groundClass, m) => ({
      from: `1+${200 + m}`,
      to: groundClass === 'B' ? '2+200' : `1+${201 + m}`,
      groundClass,
      advanceRateMPerD: '10',
    })),
  });
  const day = aDay('2027-03-01', 1, '1+200', '1+203', (shift) =>
    shift
      .withGround('Z', '1+200', '1+201')
      .withGround('AB', '1+201', '1+202')
      .withGround('A', '1+202', '1+203'),
  );
  await booked(office, '2027-03-01', day, place);
  const rows = await office.sql(
    `select ground_class_code as code, baseline_percent::text as expected, encountered_percent::text as met
     from report.baseline_against_encountered('P1', 'THREE', 'three')`,
  );
  expect(rows).toEqual([
    { code: 'A', expected: '33.3334', met: '33.3334' },
    { code: 'AB', expected: '33.3333', met: '33.3333' },
    { code: 'B', expected: '0.0000', met: '0.0000' },
    { code: 'Z', expected: '33.3333', met: '33.3333' },
  ]);
});
