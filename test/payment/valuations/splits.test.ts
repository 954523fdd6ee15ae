import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { formatChainage } from '../../../src/engineering/chainage.js';
import type { Office } from '../../harness/office.js';
import { runs } from '../../harness/sizes.js';
import { aBill, aDay, anotherDrive, booked, type Item, sent, startContract } from './contract.js';

// Whatever limits, caps and held quantities a line has, its splits by class and by chainage sum to it, and their held parts to its held quantity.

let office: Office;
let drives = 0;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

interface Share {
  reference: string;
  groundClass?: string | null;
  fromChainage?: string | null;
  quantity: string;
  heldQuantity: string;
}

const MESH = { source: 'support', dimension: 'area', items: ['MESH'] };
const BOLT = { source: 'support', dimension: 'count', items: ['BOLT'] };

const item = (reference: string, unit: string, decimals: number, rule: object): Item => ({
  reference,
  unit,
  decimals,
  rate: '10',
  rule,
});

const splitsOf = (place: string, number: number): Promise<Share[][]> =>
  Promise.all(
    ['ground-classes', 'intervals?lengthM=1.7'].map((split) =>
      sent<Share[]>(office, 'vera', 'get', `${place}/valuations/${number}/${split}`),
    ),
  );

const sumOf = (shares: Share[], of: string, figure: 'quantity' | 'heldQuantity'): string =>
  shares
    .filter(({ reference }) => reference === of)
    .reduce((sum, share) => sum.plus(share[figure]), new Decimal(0))
    .toString();

const expectSums = async (place: string, { number, lines }: Valuation): Promise<void> => {
  for (const split of await splitsOf(place, number))
    for (const { reference, toDateQuantity, heldQuantity } of lines)
      expect([
        reference,
        sumOf(split, reference, 'quantity'),
        sumOf(split, reference, 'heldQuantity'),
      ]).toEqual([reference, new Decimal(toDateQuantity).toString(), new Decimal(heldQuantity).toString()]);
};

it('a cap is deducted under no class and no chainage, and the rest is rounded by largest remainder', async () => {
  const place = await anotherDrive(office, 'CAP');
  await aBill(office, 'V1', '2027-01-01', [item('M.1', 'm2', 1, { ...MESH, maxPerM: '2' })], 'EUR', 'CAP');
  await booked(
    office,
    '2027-03-01',
    aDay('2027-03-01', 1, '1+200', '1+203', (shift) =>
      shift
        .withGround('A', '1+200', '1+201')
        .withGround('B', '1+201', '1+203')
        .withSupport('MESH', '1+200', '1+203', '10'),
    ),
    place,
  );
  const valuation = await sent<Valuation>(office, 'clara', 'put', `${place}/valuations/1`, {
    cutOff: '2027-03-01', // the day itself counts
  });
  expect(valuation.lines[0]?.toDateQuantity).toBe('6.0'); // 3 m of 2 m² at most
  const [byClass, byPlace] = await splitsOf(place, 1);
  // 3.333 in A and 6.667 in B, less 4: rounded down 3.3, 6.6 and −4.0; one step remains, and the larger remainder is that of B
  expect(byClass?.map(({ groundClass, quantity }) => [groundClass, quantity])).toEqual([
    [null, '-4'],
    ['A', '3.3'],
    ['B', '6.7'],
  ]);
  // round chainages at 1+200.2 and 1+201.9: 0.2, 1.7 and 1.1 of 3 m are 0.667, 5.667 and 3.667; of equal remainders the first two get a step
  expect(byPlace?.map(({ fromChainage, quantity }) => [fromChainage, quantity])).toEqual([
    [null, '-4'],
    ['1+200.000', '0.7'],
    ['1+200.200', '5.7'],
    ['1+201.900', '3.6'],
  ]);
});

const mm = fc.integer({ min: 0, max: 12_000 });
const anEnd = fc.tuple(mm, mm).map(([a, b]) => [Math.min(a, b), Math.max(a, b) + 1] as const);

const life = fc.record({
  bolts: fc.array(fc.record({ ends: anEnd, pieces: fc.integer({ min: 1, max: 19 }) }), {
    minLength: 1,
    maxLength: 4,
  }),
  meshes: fc.array(fc.record({ ends: anEnd, thousandths: fc.integer({ min: 1, max: 40_000 }) }), {
    minLength: 1,
    maxLength: 4,
  }),
  cut: fc.integer({ min: 1000, max: 11_000 }),
  decided: anEnd,
  isDisputed: fc.boolean(),
  least: fc.integer({ min: 0, max: 5 }),
  most: fc.integer({ min: 0, max: 4 }),
  decimals: fc.tuple(fc.integer({ min: 0, max: 3 }), fc.integer({ min: 0, max: 3 })),
});

/** M.B is rounded together with M.A, to whole square metres, though nothing of M.A is installed. 0.001 m² are disputed. */
const UNSHARED: typeof life extends fc.Arbitrary<infer Life> ? Life : never = {
  bolts: [{ ends: [0, 1], pieces: 1 }],
  meshes: [{ ends: [1000, 1001], thousandths: 1 }],
  cut: 1000,
  decided: [0, 1],
  isDisputed: true,
  least: 0,
  most: 0,
  decimals: [0, 3],
};

it('the splits of every line sum to it, in a draft and in a certified valuation, also when the record has changed since', async () => {
  await fc.assert(
    fc.asyncProperty(
      life,
      async ({ bolts, meshes, cut, decided, isDisputed, least, most, decimals: [first, second] }) => {
        const drive = `S${(drives += 1)}`;
        const place = await anotherDrive(office, drive);
        const at = (at: number): string => formatChainage(1_200_000 + at);
        await aBill(
          office,
          'V1',
          '2027-01-01',
          [
            item('B.A', 'nr', 0, { ...BOLT, classes: ['A'] }),
            item('B.B', 'nr', 0, { ...BOLT, classes: ['B'], minPerM: String(least) }),
            item('M.A', 'm2', first, { ...MESH, classes: ['A'] }),
            item('M.B', 'm2', second, { ...MESH, classes: ['B'] }),
            item('M.C', 'm2', second, { ...MESH, maxPerM: String(most), allowancePercent: '3' }),
            item('X.A', 'm3', 1, { source: 'advance', dimension: 'volume', classes: ['A'] }),
          ],
          'EUR',
          drive,
        );
        const day = (lines: typeof meshes) =>
          aDay('2027-03-01', 1, at(0), at(12_000), (shift) => {
            shift.withGround('A', at(0), at(cut)).withGround('B', at(cut), at(12_000));
            for (const { ends, pieces } of bolts)
              shift.withSupport('BOLT', at(ends[0]), at(ends[1]), String(pieces));
            for (const { ends, thousandths } of lines)
              shift.withSupport('MESH', at(ends[0]), at(ends[1]), (thousandths / 1000).toFixed(3));
            return shift;
          });
        await booked(office, '2027-03-01', day(meshes), place);
        await sent(office, 'boris', 'put', `${place}/class-decisions/1`, {
          from: at(decided[0]),
          to: at(decided[1]),
          groundClass: 'B',
          contractorRepresentative: 'C. Contractor',
          employerRepresentative: 'E. Employer',
        });
        if (isDisputed)
          await sent(office, 'boris', 'post', `${place}/quantity-disputes`, {
            reference: 'M.C',
            sourceKey: `2027-03-01/day/support/${bolts.length + 1}`,
            reason: 'not seen',
          });
        await expectSums(
          place,
          await sent(office, 'clara', 'put', `${place}/valuations/1`, { cutOff: '2027-03-31' }),
        );
        await sent(office, 'boris', 'post', `${place}/valuations/1/agree`);
        const certified = await sent<Valuation>(office, 'clara', 'post', `${place}/valuations/1/certify`);
        await expectSums(place, certified);
        await booked(office, '2027-03-01', day(meshes.slice(1)), place);
        await expectSums(place, certified);
      },
    ),
    { ...runs(2, 60), examples: [[UNSHARED]] },
  );
});
