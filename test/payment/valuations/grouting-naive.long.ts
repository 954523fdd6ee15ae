import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, anotherDrive, booked, type Item, sent, startContract } from './contract.js';

// Payment of random grouting rounds, against a second implementation in exact decimals.

let office: Office;
let drives = 0;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

const item = (reference: string, unit: string, decimals: number, rule: object): Item => ({
  reference,
  unit,
  decimals,
  rate: '10',
  rule,
});

const G = { source: 'grouting' };

const toDate = ({ lines }: Valuation): Record<string, string> =>
  Object.fromEntries(lines.map(({ reference, toDateQuantity }) => [reference, toDateQuantity]));

const DAYS = 4;
const START = Date.parse('2027-03-01T06:00:00Z');
const MATERIALS = ['Micro cement', 'Portland cement', 'Resin'];
const dayOf = (n: number): string => `2027-03-0${n + 1}`;

const anyMix = fc.record({
  material: fc.constantFrom(...MATERIALS),
  grams: fc.integer({ min: 0, max: 2_000_000 }),
  millilitres: fc.option(fc.integer({ min: 0, max: 3_000_000 }), { nil: null, freq: 5 }),
});
const anyHole = fc.record({
  collarMm: fc.integer({ min: 0, max: 2 * DAYS * 1000 - 1 }),
  lengthMm: fc.integer({ min: 1, max: 40_000 }),
  // half of them on the hour, so that some coincide with ends of shifts
  endMin: fc.oneof(
    // minutes after 06:00 of the first day
    fc.integer({ min: 61, max: DAYS * 1440 }),
    fc.integer({ min: 2, max: DAYS * 24 }).map((hours) => hours * 60),
  ),
  lastsMin: fc.option(fc.integer({ min: 1, max: 60 }), { nil: null, freq: 5 }),
  mixes: fc.array(anyMix, { maxLength: 3 }),
});
const anyRound = fc.record({
  isPre: fc.boolean(),
  holes: fc.array(anyHole, { minLength: 1, maxLength: 6 }),
});
const anyMonth = fc.record({
  rounds: fc.array(anyRound, { minLength: 1, maxLength: 4 }),
  countersigned: fc.array(fc.boolean(), { minLength: DAYS, maxLength: DAYS }),
  classes: fc.array(fc.constantFrom('A', 'B'), { minLength: DAYS, maxLength: DAYS }),
});
type Month = typeof anyMonth extends fc.Arbitrary<infer M> ? M : never;

const ITEMS: Item[] = [
  item('N', 'nr', 0, { ...G, dimension: 'count' }),
  item('M', 'm', 3, { ...G, dimension: 'length' }),
  item('H', 'h', 4, { ...G, dimension: 'hours', purposes: ['post_grouting'] }),
  item('KG', 'kg', 3, { ...G, dimension: 'mass' }),
  item('T', 't', 6, {
    ...G,
    dimension: 'mass',
    materials: ['Micro cement', 'Resin'],
    purposes: ['pre_grouting'],
  }),
  item('V', 'm3', 6, { ...G, dimension: 'volume' }),
  item('KA', 'kg', 3, { ...G, dimension: 'mass', classes: ['A'], allowancePercent: '12.5' }),
];

const moment = (minutes: number): string => new Date(START + minutes * 60_000).toISOString();

const metres = (mm: number): string => new Decimal(mm).div(1000).toFixed(3);

/** The day of the shift, 06:00 to 18:00, in which a hole ended: after its start and by its end. */
const dayOfEnd = (endMin: number): number | undefined =>
  Array.from({ length: DAYS }, (_, n) => n).find((n) => endMin > n * 1440 && endMin <= n * 1440 + 720);

/** What is paid for each item, and for the mass by metre of chainage. */
const naive = ({ rounds, countersigned, classes }: Month) => {
  const sums = Object.fromEntries(ITEMS.map(({ reference }) => [reference, new Decimal(0)])) as Record<
    string,
    Decimal
  >;
  const byMetre = new Map<number, Decimal>();
  const add = (reference: string, value: Decimal.Value): void => {
    sums[reference] = (sums[reference] ?? new Decimal(0)).plus(value);
  };
  for (const { isPre, holes } of rounds)
    for (const { collarMm, lengthMm, endMin, lastsMin, mixes } of holes) {
      const day = dayOfEnd(endMin);
      if (day === undefined || !countersigned[day]) continue;
      add('N', 1);
      add('M', new Decimal(lengthMm).div(1000));
      if (!isPre && lastsMin !== null) add('H', new Decimal(lastsMin).div(60));
      const bored = Math.floor(collarMm / 2000); // two metres per day, noted by a countersigned shift
      const groundClass = countersigned[bored] ? classes[bored] : undefined;
      for (const { material, grams, millilitres } of mixes) {
        const kg = new Decimal(grams).div(1000);
        add('KG', kg);
        const metre = Math.floor(collarMm / 1000);
        byMetre.set(metre, (byMetre.get(metre) ?? new Decimal(0)).plus(kg));
        if (isPre && material !== 'Portland cement') add('T', kg.div(1000));
        if (millilitres !== null) add('V', new Decimal(millilitres).div(1_000_000));
        if (groundClass === 'A') add('KA', kg.mul('1.125'));
      }
    }
  return { sums, byMetre };
};

it('agrees with the measure of random rounds, in total and by chainage', async () => {
  await fc.assert(
    fc.asyncProperty(anyMonth, async (month) => {
      drives += 1;
      const place = await anotherDrive(office, `R${drives}`);
      await aBill(office, 'V1', '2027-01-01', ITEMS, 'EUR', `R${drives}`);
      for (let n = 0; n < DAYS; n += 1) {
        const [from, to] = [`1+${200 + 2 * n}`, `1+${202 + 2 * n}`];
        const document = aDay(dayOf(n), n + 1, from, to, (shift) =>
          shift.withGround(month.classes[n] ?? 'A', from, to),
        );
        if (month.countersigned[n]) await booked(office, dayOf(n), document, place);
        else await sent(office, 'anna', 'put', `${place}/shifts/${dayOf(n)}/day`, document);
      }
      for (const [index, { isPre, holes }] of month.rounds.entries())
        await sent(office, 'anna', 'put', `${place}/grouting-rounds/R${index}`, {
          purpose: isPre ? 'pre_grouting' : 'post_grouting',
          state: 'complete',
          from: '1+200',
          to: '1+220',
          startedAt: moment(0),
          endedAt: moment(DAYS * 1440),
          holes: holes.map(({ collarMm, lengthMm, endMin, lastsMin, mixes }, n) => ({
            name: `H${n}`,
            collar: String(metres(1_200_000 + collarMm)),
            lookOutDeg: '3',
            lengthM: metres(lengthMm),
            startedAt: lastsMin === null ? undefined : moment(endMin - lastsMin),
            endedAt: moment(endMin),
            mixes: mixes.map(({ material, grams, millilitres }) => ({
              material,
              massKg: metres(grams),
              volumeL: millilitres === null ? undefined : metres(millilitres),
            })),
          })),
        });
      const { sums, byMetre } = naive(month);
      const valuation = await sent<Valuation>(office, 'clara', 'put', `${place}/valuations/1`, {
        cutOff: '2027-03-31',
      });
      const decimals = Object.fromEntries(ITEMS.map((each) => [each.reference, each.decimals]));
      expect(toDate(valuation)).toEqual(
        Object.fromEntries(
          Object.entries(sums).map(([reference, sum]) => [
            reference,
            sum.toFixed(decimals[reference] ?? 0, Decimal.ROUND_HALF_UP),
          ]),
        ),
      );
      const intervals = await sent<{ reference: string; fromChainage: string; quantity: string }[]>(
        office,
        'vera',
        'get',
        `${place}/valuations/1/intervals?lengthM=1`,
      );
      const found = intervals
        .filter(({ reference, quantity }) => reference === 'KG' && !new Decimal(quantity).isZero())
        .map(({ fromChainage, quantity }) => [
          Number(fromChainage.slice(2)) - 200,
          new Decimal(quantity).toString(),
        ]);
      expect(found.sort()).toEqual(
        [...byMetre]
          .filter(([, kg]) => !kg.isZero())
          .map(([metre, kg]) => [metre, kg.toString()])
          .sort(),
      );
    }),
    { numRuns: 40 },
  );
});
