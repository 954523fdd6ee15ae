import { Decimal } from 'decimal.js';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, anotherDrive, aDay, booked, type Item, sent, startContract } from './contract.js';

// The same arithmetic by decimal.js, with 60 digits and halves away from zero: many rates, quantities and roundings at once, in currencies with
// two, no and three decimals. They come from a seeded generator, so that a failure can be reproduced.

Decimal.set({ precision: 60, rounding: Decimal.ROUND_HALF_UP });

const PI = Decimal.acos(-1);
const FACE = PI.div(4).times(49);
const METRES = new Decimal('1.7');

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

/** Numbers between 0 and 1 (Park and Miller 1988). */
const seeded = (seed: number) => (): number => (seed = (seed * 48_271) % 2_147_483_647) / 2_147_483_647;

const MEASURED = [
  { unit: 'nr', rule: { source: 'support', dimension: 'count', items: ['BOLT'] }, exact: new Decimal(13) },
  { unit: 'm', rule: { source: 'support', dimension: 'length', items: ['BOLT'] }, exact: new Decimal(39) },
  {
    unit: 'm2',
    rule: { source: 'support', dimension: 'area', items: ['MESH'] },
    exact: new Decimal('17.345'),
  },
  {
    unit: 'm3',
    rule: { source: 'support', dimension: 'volume', items: ['SPRAY'] },
    exact: new Decimal('3.125'),
  },
  { unit: 't', rule: { source: 'support', dimension: 'mass', items: ['TH29'] }, exact: new Decimal('1.16') },
  { unit: 'm', rule: { source: 'advance', dimension: 'length' }, exact: METRES },
  { unit: 'm2', rule: { source: 'advance', dimension: 'area' }, exact: METRES.times(PI).times(7) },
  { unit: 'm3', rule: { source: 'advance', dimension: 'volume' }, exact: METRES.times(FACE) },
  { unit: 'h', rule: { source: 'time', dimension: 'hours', activities: ['BORE'] }, exact: new Decimal(1) },
];

it.each([
  ['EUR', 2],
  ['JPY', 0],
  ['KWD', 3],
] as const)('in %s', async (currency, minor) => {
  const next = seeded(minor * 7 + 11);
  const cases = Array.from({ length: 45 }, (_, index) => {
    const measured = MEASURED[index % MEASURED.length]!;
    const allowance = next() < 0.5 ? undefined : (next() * 40 - 10).toFixed(3);
    const item: Item = {
      reference: `I.${100 + index}`,
      unit: measured.unit,
      rate: (next() * 10 ** Math.floor(next() * 6)).toFixed(6),
      decimals: Math.floor(next() * 5),
      rule: { ...measured.rule, ...(allowance === undefined ? {} : { allowancePercent: allowance }) },
    };
    const exact = measured.exact.times(new Decimal(allowance ?? 0).div(100).plus(1));
    const quantity = exact.toDecimalPlaces(item.decimals);
    return { item, quantity, amount: quantity.times(item.rate).toDecimalPlaces(minor) };
  });
  const place = await anotherDrive(office, currency);
  const items = cases.map(({ item }) => item);
  await aBill(office, 'V1', '2027-01-01', items, currency, currency);
  const day = aDay('2027-03-01', 1, '1+200', '1+201.7', (shift) =>
    shift
      .withSupport('BOLT', '1+200', '1+201.7', '13')
      .withSupport('MESH', '1+200', '1+201.7', '17.345')
      .withSupport('SPRAY', '1+201', undefined, '3.125')
      .withSupport('TH29', '1+201', undefined, '2'),
  );
  await booked(office, '2027-03-01', day, place);
  const valuation = await sent<Valuation>(office, 'clara', 'put', `${place}/valuations/1`, {
    cutOff: '2027-03-31',
  });
  expect(
    valuation.lines.map(({ reference, toDateQuantity, toDateAmount }) => [
      reference,
      toDateQuantity,
      toDateAmount,
    ]),
  ).toEqual(
    cases.map(({ item, quantity, amount }) => [
      item.reference,
      quantity.toFixed(item.decimals),
      amount.toFixed(minor),
    ]),
  );
  const sum = cases.reduce((total, { amount }) => total.plus(amount), new Decimal(0));
  expect(valuation.amount).toBe(sum.toFixed(minor));
});
