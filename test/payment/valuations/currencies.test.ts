import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, anotherDrive, aDay, booked, drafted, sent, startContract } from './contract.js';

// An amount is rounded once, half away from zero, to the decimals of its currency (ISO 4217): 2 for the euro, none for the yen, 3 for
// the Kuwaiti dinar. The same 25 bolts, at 42.3567 each: 1058.9175.

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

it.each([
  ['EUR', '1058.92'],
  ['JPY', '1059'],
  ['KWD', '1058.918'],
])('in %s', async (currency, amount) => {
  const place = await anotherDrive(office, currency);
  const item = { reference: 'B.1', unit: 'nr', rate: '42.3567', decimals: 0 };
  await aBill(
    office,
    'V1',
    '2027-01-01',
    [{ ...item, rule: { source: 'support', dimension: 'count' } }],
    currency,
    currency,
  );
  const day = aDay('2027-03-01', 1, '1+200', '1+201.7', (shift) =>
    shift.withSupport('BOLT', '1+200', '1+201.7', '25'),
  );
  await booked(office, '2027-03-01', day, place);
  await sent(office, 'clara', 'put', `${place}/valuations/1`, { cutOff: '2027-03-31' });
  expect(await sent(office, 'vera', 'get', `${place}/valuations/1`)).toMatchObject({
    currency,
    amount,
    previousAmount: (0).toFixed(amount.split('.')[1]?.length ?? 0),
    lines: [{ amount, toDateAmount: amount }],
  });
});

describe('a new version of the bill', () => {
  const count = { source: 'support', dimension: 'count' };
  const lineOf = (valuation: Valuation, version: string) =>
    valuation.lines.find((line) => line.version === version);

  it('measures work from its first day on, and leaves earlier work at the old rate', async () => {
    await aBill(office, 'V1', '2027-01-01', [
      { reference: 'B.1', unit: 'nr', rate: '40', decimals: 0, rule: count },
    ]);
    await aBill(office, 'V2', '2027-04-01', [
      { reference: 'B.1', unit: 'nr', rate: '45', decimals: 0, rule: count },
    ]);
    const bolted = (date: string, bolts: string) =>
      aDay(date, 1, '1+200', '1+201.7', (shift) => shift.withSupport('BOLT', '1+200', '1+201.7', bolts));
    await booked(office, '2027-03-31', bolted('2027-03-31', '25'));
    const april = bolted('2027-04-01', '10');
    const idle = april.activities
      .slice(1)
      .map((rest) => ({ ...rest, startedAt: '2027-04-01T06:00:00.000Z' }));
    await booked(office, '2027-04-01', { ...april, strokes: [], activities: idle });
    const valuation = await drafted(office, 1, '2027-04-30');
    expect(lineOf(valuation, 'V1')).toMatchObject({ toDateQuantity: '25', toDateAmount: '1000.00' });
    expect(lineOf(valuation, 'V2')).toMatchObject({ toDateQuantity: '10', toDateAmount: '450.00' });
    expect(valuation.amount).toBe('1450.00');
  });
});
