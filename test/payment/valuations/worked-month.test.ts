import { aDay, aBill, booked, certified, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';
import type { Office } from '../../harness/office.js';
import type { QuantityDispute } from '../../../src/features/payment/valuations/evidence.models.js';
import type {
  ClassQuantity,
  IntervalQuantity,
  LineSourcePage,
  Valuation,
} from '../../../src/features/payment/valuations/valuation.models.js';

// Two months of the invented contract, measured by hand; docs/calculations.md shows the sums. The bore is 7 m wide:
// its face measures π/4 · 7² = 38.484510 m².

let office: Office;

const march2 = (bolts: string) =>
  aDay('2027-03-02', 2, '1+201.7', '1+203.4', (shift) =>
    shift
      .withGround('A', '1+201.7', '1+202.4')
      .withGround('B', '1+202.4', '1+203.4')
      .withSupport('BOLT', '1+201.7', '1+203.4', bolts)
      .withSupport('SPRAY', '1+201.7', '1+203.4', '3.25')
      .withSupport('TH29', '1+203', undefined, '1'),
  );

/** Twenty minutes of waiting, client responsible. */
const waited = (document: ReturnType<typeof march2>) => {
  const [bore, rest] = document.activities;
  return {
    ...document,
    activities: [
      bore!,
      { ...rest!, endedAt: '2027-03-02T07:20:00.000Z', responsibleParty: 'employer' as const },
      { ...rest!, startedAt: '2027-03-02T07:20:00.000Z' },
    ],
  };
};

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', ITEMS);
  await booked(
    office,
    '2027-03-01',
    aDay('2027-03-01', 1, '1+200', '1+201.7', (shift) =>
      shift
        .withGround('A', '1+200', '1+201.7')
        .withSupport('BOLT', '1+201', undefined, '8')
        .withSupport('MESH', '1+200', '1+201.7', '12.5'),
    ),
  );
  await booked(office, '2027-03-02', waited(march2('17')));
  await sent(office, 'boris', 'put', `${PLACE}/probe-holes/PH1`, {
    collar: '1+201',
    lookOutDeg: '5',
    lengthM: '30',
    drilledAt: '2027-03-02T12:00:00Z',
  });
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-03-31`, { percent: '40' });
});

afterAll(() => office.close());

const quantities = (valuation: Valuation): Record<string, string[]> =>
  Object.fromEntries(
    valuation.lines.map((line) => [
      line.reference,
      [line.previousQuantity, line.quantity, line.toDateQuantity, line.amount, line.toDateAmount],
    ]),
  );

// 3.4 m × 1850; 2.4 m and 1.0 m of 38.484510 m²; 8 + 17 bolts, of 3 m; 12.5 m² and a tenth; 3.25 m³; 20 m × 29 kg/m;
// 30 m; 20 min; 40 % of the sum. T.2 and T.3 divide the rock: 92.363 + 38.485 = 130.847 → 130.8; rounded down 92.3 + 38.4, and the larger remainder
// is that of T.3
const MARCH = {
  'T.1': ['0.00', '3.40', '3.40', '6290.00', '6290.00'],
  'T.2': ['0.0', '92.3', '92.3', '8814.65', '8814.65'],
  'T.3': ['0.0', '38.5', '38.5', '4629.63', '4629.63'],
  'B.1': ['0', '25', '25', '1058.75', '1058.75'],
  'B.2': ['0.0', '75.0', '75.0', '742.50', '742.50'],
  'M.1': ['0.0', '13.8', '13.8', '253.92', '253.92'],
  'S.1': ['0.00', '3.25', '3.25', '1007.50', '1007.50'],
  'R.1': ['0.000', '0.580', '0.580', '1392.00', '1392.00'],
  'P.1': ['0.0', '30.0', '30.0', '1650.00', '1650.00'],
  'W.1': ['0.00', '0.33', '0.33', '211.20', '211.20'],
  'L.1': ['0.0000', '0.4000', '0.4000', '100000.00', '100000.00'],
};

describe('the month of March', () => {
  it('is measured as by hand', async () => {
    const valuation = await drafted(office, 1, '2027-03-31');
    expect(quantities(valuation)).toEqual(MARCH);
    expect(valuation).toMatchObject({
      state: 'draft',
      currency: 'EUR',
      amount: '126050.15',
      previousAmount: '0.00',
      toDateAmount: '126050.15',
    });
  });

  it('is certified as drafted, by two people, and verified from the history', async () => {
    expect(quantities(await certified(office, 1))).toEqual(MARCH);
    expect(await sent(office, 'vera', 'get', `${PLACE}/valuations/1/verification`)).toMatchObject({
      equal: true,
      lineCount: 11,
      differences: [],
    });
  });

  it('is split by ground class into parts that sum to the measure', async () => {
    const parts = await sent<ClassQuantity[]>(office, 'vera', 'get', `${PLACE}/valuations/1/ground-classes`);
    const of = (reference: string) =>
      parts.filter((part) => part.reference === reference).map((part) => [part.groundClass, part.quantity]);
    expect(of('T.1')).toEqual([
      ['A', '2.4'],
      ['B', '1'],
    ]);
    // 17 bolts along 1.7 m, of which 0.7 m in A: 7 and 10
    expect(of('B.1')).toEqual([
      ['A', '15'],
      ['B', '10'],
    ]);
  });

  it('is split by chainage', async () => {
    const parts = await sent<IntervalQuantity[]>(
      office,
      'vera',
      'get',
      `${PLACE}/valuations/1/intervals?lengthM=1`,
    );
    expect(
      parts
        .filter((part) => part.reference === 'B.1')
        .map((part) => [part.fromChainage, part.toChainage, part.quantity]),
    ).toEqual([
      // 10 bolts per metre from 1+201.7 on, and 8 at 1+201
      ['1+201.000', '1+202.000', '11'],
      ['1+202.000', '1+203.000', '10'],
      ['1+203.000', '1+204.000', '4'],
    ]);
  });
});

describe('the month of April, with March measured again', () => {
  beforeAll(async () => {
    await booked(office, '2027-03-02', waited(march2('15')));
    await booked(
      office,
      '2027-04-05',
      aDay('2027-04-05', 3, '1+203.4', '1+205.1', (shift) =>
        shift.withGround('A', '1+203.4', '1+205.1').withSupport('BOLT', '1+204', undefined, '8'),
      ),
    );
  });

  it('leaves March as it was certified', async () => {
    expect(quantities(await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/1`))).toEqual(MARCH);
    expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/1/verification`)).equal).toBe(true);
  });

  it('pays the difference, to date at one rounding', async () => {
    const lines = quantities(await drafted(office, 2, '2027-04-30'));
    // 25 − 2 + 8; 4.1 m × 38.484510 m² = 157.786 m³, with 38.485 of B 196.271 → 196.3, one step more for each
    expect(lines['B.1']).toEqual(['25', '6', '31', '254.10', '1312.85']);
    expect(lines['T.2']).toEqual(['92.3', '65.5', '157.8', '6255.25', '15069.90']);
    expect(lines['P.1']).toEqual(['30.0', '0.0', '30.0', '0.00', '1650.00']);
  });

  it('names the records behind the difference', async () => {
    const { items } = await sent<LineSourcePage>(
      office,
      'vera',
      'get',
      `${PLACE}/valuations/2/lines/B.1/sources`,
    );
    const listed = items.map((item) => [
      item.sourceKey,
      item.effect,
      item.groundClass,
      item.previousQuantity,
      item.quantity,
      item.toDateQuantity,
    ]);
    // 15 along 1.7 m are 113.3 mm apart, the first at 56.7: six (to 623.3) before 0.7 m in A, nine in B
    expect(listed).toEqual([
      ['2027-03-02/day/support/1', 'corrected', 'A', '7', '-1', '6'],
      ['2027-03-02/day/support/1', 'corrected', 'B', '10', '-1', '9'],
      ['2027-04-05/day/support/1', 'measured', 'A', '0', '8', '8'],
    ]);
  });

  it('withholds a disputed record until it is settled', async () => {
    const dispute = await sent<QuantityDispute>(office, 'boris', 'post', `${PLACE}/quantity-disputes`, {
      reference: 'B.1',
      sourceKey: '2027-04-05/day/support/1',
      reason: 'two are short',
    });
    const held = (await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/2`)).lines.find(
      (line) => line.reference === 'B.1',
    );
    expect(held).toMatchObject({ toDateQuantity: '23', quantity: '-2', heldQuantity: '8' });
    await sent(office, 'clara', 'post', `${PLACE}/quantity-disputes/${dispute.number}/settle`, {
      settlement: 'all eight are paid',
    });
    const settled = await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/2`);
    expect(quantities(settled)['B.1']).toEqual(['25', '6', '31', '254.10', '1312.85']);
  });
});
