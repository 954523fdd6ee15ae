import type { ForecastLine } from '../../../src/features/payment/valuations/forecast.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';

// Expected quantities of the items at the end of the drive, by hand. 1.7 m of 1000 m are bored, in A. The baseline expects 500 m of A and 500 m of B;
// A demands 2 bolts per metre, B 4 and a ring, and a design section of 100 m in B 6 bolts and no ring.

let office: Office;

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', [
    ...ITEMS,
    {
      reference: 'B.9',
      unit: 'nr',
      rate: '1',
      decimals: 0,
      rule: { source: 'support', dimension: 'count', items: ['BOLT'], classes: ['B'], maxPerM: '3' },
    },
    {
      reference: 'L.2',
      unit: 'sum',
      rate: '1000',
      decimals: 6,
      quantity: '0.123456',
      rule: { source: 'lump', dimension: 'percent' },
    },
  ]);
  const day = aDay('2027-03-01', 1, '1+200', '1+201.7', (shift) =>
    shift.withGround('A', '1+200', '1+201.7').withSupport('BOLT', '1+200', '1+201.7', '8'),
  );
  await booked(office, '2027-03-01', day);
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-03-31`, { percent: '40' });
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.2/2027-03-31`, { percent: '33.3333' });
  const classes = '/v1/projects/P1/ground-classes';
  const bolts = (quantityPerM: string) => ({ item: 'BOLT', zone: 'L1', quantityPerM });
  const ring = { item: 'TH29', zone: 'L2', quantityPerM: '1' };
  await sent(office, 'olga', 'put', `${classes}/A/standard-support`, { edition: '1', items: [bolts('2')] });
  await sent(office, 'olga', 'put', `${classes}/B/standard-support`, {
    edition: '1',
    items: [bolts('4'), ring],
  });
  await sent(office, 'olga', 'put', `${PLACE}/design-sections/FAULT`, {
    edition: '1',
    from: '1+800',
    to: '1+900',
    items: [bolts('6')],
  });
  const expected = (from: string, to: string, groundClass: string) => ({
    from,
    to,
    groundClass,
    advanceRateMPerD: '15',
  });
  await sent(office, 'olga', 'put', `${PLACE}/baselines/GBR`, {
    workingHoursPerDay: '20',
    intervals: [expected('1+200', '1+700', 'A'), expected('1+700', '2+200', 'B')],
  });
  await drafted(office, 1, '2027-03-31');
});

afterAll(() => office.close());

const HAND: Record<
  string,
  [toDate: string, remaining: string, forecast: string, amount: string, basis: string | null]
> = {
  'T.1': ['1.70', '998.30', '1000.00', '1850000.00', 'advance'],
  // 1.7 m and 498.3 m of 38.484510 m²
  'T.2': ['65.4', '19176.8', '19242.2', '1837630.10', 'advance'],
  // 500 m of it: 19242.255 m³
  'T.3': ['0.0', '19242.3', '19242.3', '2313886.58', 'advance'],
  // 2 · 498.3 + 4 · 400 + 6 · 100 = 3196.6
  'B.1': ['8', '3197', '3205', '135731.75', 'standard support'],
  // 400 rings of 580 kg
  'R.1': ['0.000', '232.000', '232.000', '556800.00', 'standard support'],
  'P.1': ['0.0', '0.0', '0.0', '0.00', null],
  'L.1': ['0.4000', '0.6000', '1.0000', '250000.00', 'rest of the lump sum'],
  // 33.3333 % of 0.123456 is 0.041151958848; 0.123456 less 0.041152
  'L.2': ['0.041152', '0.082304', '0.123456', '123.46', 'rest of the lump sum'],
  // 2200 bolts, but at most 3 per metre over 500 m
  'B.9': ['0', '1500', '1500', '1500.00', 'standard support'],
};

it.each(Object.entries(HAND))('%s', async (reference, [toDate, remaining, forecast, amount, basis]) => {
  const lines = await sent<ForecastLine[]>(
    office,
    'vera',
    'get',
    `${PLACE}/valuations/1/forecast?baseline=GBR`,
  );
  expect(lines.find((line) => line.reference === reference)).toMatchObject({
    toDateQuantity: toDate,
    remainingQuantity: remaining,
    forecastQuantity: forecast,
    forecastAmount: amount,
    basis,
    remainingM: '998.300',
  });
});

it('a lump sum is measured to a billionth', async () => {
  expect(
    await office.sql(
      `select l.quantity::text from drive d cross join lateral report.lump_part_of(d.id, '2027-03-31', 'L.2') l where d.code = 'N'`,
    ),
  ).toEqual([{ quantity: '0.041151959' }]);
});

it('names a baseline and a valuation that do not exist', async () => {
  const asked = (path: string) =>
    office.http.get(`${PLACE}/valuations/${path}`).set(office.headersOf('vera'));
  expect((await asked('1/forecast?baseline=X')).body.detail).toBe('There is no baseline X of drive N.');
  expect((await asked('7/forecast?baseline=GBR')).status).toBe(404);
  expect((await asked('1/forecast')).status).toBe(422);
});
