import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { type Office } from '../../harness/office.js';
import { runs } from '../../harness/sizes.js';
import { aBill, aDay, anotherDrive, booked, type Item, sent, startContract } from './contract.js';
import { amountsByClass, isCounted, type Line, type Note, paidOf } from './naive-paid.js';

// By property, over random divisions, classes and decimals: what is paid is always what was installed. Each line of the items that divide the same
// support equals that of a second implementation, and their sum is the rounded sum.

const START_MM = 1_200_000;
const LENGTH_MM = 12_000;
const CLASSES = ['A', 'B', 'C'];

/** What a rule measures for each item: dimension, units with their most decimals, and the measure of one unit of the amount [base unit]. */
const MEASURES = {
  BOLT: { dimension: 'count', units: [['nr', 0, 1]], one: new Decimal(1) },
  MESH: { dimension: 'area', units: [['m2', 3, 1]], one: new Decimal('0.001') },
  SPRAY: { dimension: 'volume', units: [['m3', 3, 1]], one: new Decimal('0.001') },
  TH29: {
    dimension: 'mass', // 29 kg/m · 20 m
    units: [
      ['kg', 2, 1],
      ['t', 4, 1000],
    ],
    one: new Decimal(580),
  },
} as const;

type Code = keyof typeof MEASURES;
const CODES = Object.keys(MEASURES) as Code[];

let office: Office;
let drives = 0;

beforeAll(async () => {
  office = await startContract();
  await sent(office, 'olga', 'put', '/v1/projects/P1/ground-classes/C', { description: 'Poor rock' });
});

afterAll(() => office.close());

const chainage = (mm: number): string => formatChainage(START_MM + mm);

const place = fc.integer({ min: 0, max: LENGTH_MM });

const anyLine = fc
  .record({
    item: fc.constantFrom(...CODES),
    ends: fc.tuple(place, place),
    pieces: fc.integer({ min: 1, max: 23 }),
    thousandths: fc.integer({ min: 1, max: 40_000 }),
    isPlaced: fc.boolean(),
    seeds: fc.array(fc.double({ min: 0, max: 0.999, noNaN: true }), { minLength: 23, maxLength: 23 }),
  })
  .map(({ item, ends: [a, b], pieces, thousandths, isPlaced, seeds }): Line => {
    const line = { item, fromMm: Math.min(a, b), toMm: Math.max(a, b), amount: pieces };
    if (line.fromMm === line.toMm) line.toMm += 1;
    if (!isCounted(line)) return { ...line, amount: thousandths };
    if (!isPlaced) return line;
    const positionsMm = seeds
      .slice(0, pieces)
      .map((seed) => line.fromMm + Math.floor(seed * (line.toMm - line.fromMm)))
      .sort((x, y) => x - y);
    return { ...line, positionsMm };
  });

const anyNotes = fc
  .record({
    cuts: fc.uniqueArray(place, { minLength: 2, maxLength: 6 }),
    codes: fc.array(fc.constantFrom(...CLASSES, undefined), { minLength: 5, maxLength: 5 }),
  })
  .map(({ cuts, codes }): Note[] => {
    const ordered = [...cuts].sort((a, b) => a - b);
    return ordered.slice(1).flatMap((toMm, index) => {
      const code = codes[index];
      return code === undefined ? [] : [{ code, fromMm: ordered[index] ?? 0, toMm }];
    });
  });

/** How the classes are divided among the items of a measure: the item's number for A, B and C. */
const anyDivision = fc.record({
  seats: fc.tuple(...CLASSES.map(() => fc.integer({ min: 0, max: 2 }))),
  units: fc.array(fc.nat(), { minLength: 3, maxLength: 3 }),
  decimals: fc.array(fc.nat(), { minLength: 3, maxLength: 3 }),
});

interface Divided {
  code: Code;
  /** In the order of the bill. */
  items: { item: Item; classes: string[]; perUnit: number }[];
}

const divided = (
  code: Code,
  set: number,
  { seats, units, decimals }: { seats: number[]; units: number[]; decimals: number[] },
): Divided => {
  const { dimension, units: choices } = MEASURES[code];
  const items = [0, 1, 2].flatMap((seat) => {
    const classes = CLASSES.filter((_, index) => seats[index] === seat);
    if (classes.length === 0) return [];
    const [unit, most, perUnit] = choices[units[seat]! % choices.length]!;
    const item: Item = {
      reference: `${code}.${set}.${seat}`,
      unit,
      rate: '7.25',
      decimals: decimals[seat]! % (most + 1),
      rule: { source: 'support', dimension, items: [code], classes },
    };
    return [{ item, classes, perUnit }];
  });
  return { code, items };
};

const documentOf = (lines: Line[], notes: Note[]) => {
  const document = aDay('2027-03-01', 1, chainage(0), chainage(LENGTH_MM), (shift) => {
    for (const { item, fromMm, toMm, amount, positionsMm } of lines)
      shift.withSupport(
        item,
        chainage(fromMm),
        chainage(toMm),
        item === 'BOLT' || item === 'TH29' ? String(amount) : (amount / 1000).toFixed(3),
        { positions: positionsMm?.map(chainage) },
      );
    for (const { code, fromMm, toMm } of notes) shift.withGround(code, chainage(fromMm), chainage(toMm));
    return shift;
  });
  return document;
};

/** The expected payment of the items of a division, each in its unit, by the second implementation; and their exact sum in base units. */
const expectedOf = ({ code, items }: Divided, lines: Line[], notes: Note[]) => {
  const amounts = amountsByClass(
    lines.filter(({ item }) => item === code),
    notes,
  );
  const exact = items.map(({ classes }) =>
    classes.reduce((sum, one) => sum.plus(amounts.get(one) ?? 0), new Decimal(0)).times(MEASURES[code].one),
  );
  const step = Decimal.max(
    ...items.map(({ item, perUnit }) => new Decimal(10).pow(-item.decimals).times(perUnit)),
  );
  const sum = exact.reduce((total, quantity) => total.plus(quantity), new Decimal(0));
  return { paid: paidOf(exact, step), step, whole: sum.div(step).round().times(step) };
};

interface Share {
  reference: string;
  quantity: string;
}

const sumOf = (split: Share[], of: string): Decimal =>
  split.reduce(
    (sum, { reference, quantity }) => (reference === of ? sum.plus(quantity) : sum),
    new Decimal(0),
  );

it('exactly what was installed is paid', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.array(anyLine, { minLength: 1, maxLength: 6 }),
      fc.array(anyLine, { minLength: 0, maxLength: 4 }),
      anyNotes,
      fc.array(anyDivision, { minLength: 5, maxLength: 5 }),
      async (march, april, notes, divisions) => {
        const drive = `Q${(drives += 1)}`;
        const url = await anotherDrive(office, drive);
        // mesh twice, for supply and for installation
        const parts = [...CODES, 'MESH' as const].map((code, index) =>
          divided(code, index, divisions[index]!),
        );
        await aBill(
          office,
          'V1',
          '2027-01-01',
          parts.flatMap(({ items }) => items.map(({ item }) => item)),
          'EUR',
          drive,
        );
        await booked(office, '2027-03-01', documentOf(march, notes), url);
        for (const [number, cutOff, lines] of [
          [1, '2027-03-31', march],
          [2, '2027-04-30', [...march, ...april]],
        ] as const) {
          if (number === 2) await booked(office, '2027-03-01', documentOf([...lines], notes), url); // counted anew
          await sent(office, 'clara', 'put', `${url}/valuations/${number}`, { cutOff });
          await sent(office, 'boris', 'post', `${url}/valuations/${number}/agree`);
          const valuation = await sent<Valuation>(
            office,
            'clara',
            'post',
            `${url}/valuations/${number}/certify`,
          );
          const paid = new Map(valuation.lines.map((line) => [line.reference, line]));
          for (const part of parts) {
            const { paid: expected, whole } = expectedOf(part, [...lines], notes);
            const reported = part.items.map(({ item, perUnit }) =>
              new Decimal(paid.get(item.reference)?.toDateQuantity ?? NaN).times(perUnit),
            );
            expect(reported.map(String)).toEqual(expected.map(String));
            expect(String(reported.reduce((sum, quantity) => sum.plus(quantity), new Decimal(0)))).toBe(
              String(whole),
            );
          }
          const byPlace = await sent<Share[]>(
            office,
            'clara',
            'get',
            `${url}/valuations/${number}/intervals?lengthM=1.3`,
          );
          for (const { reference, quantity } of byPlace)
            if (reference.startsWith('BOLT')) expect(Number.isInteger(Number(quantity))).toBe(true);
          const byClass = await sent<Share[]>(
            office,
            'clara',
            'get',
            `${url}/valuations/${number}/ground-classes`,
          );
          for (const split of [byPlace, byClass])
            for (const [reference, { toDateQuantity }] of paid)
              expect([reference, String(sumOf(split, reference))]).toEqual([
                reference,
                String(new Decimal(toDateQuantity)),
              ]);
        }
      },
    ),
    runs(2, 40),
  );
});
