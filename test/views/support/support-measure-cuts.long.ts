import fc from 'fast-check';
import { totalLength } from '../../engineering/oracles/bolt-pattern.js';
import { batchedVolume } from '../../engineering/oracles/sprayed-concrete.js';
import { arcDegrees, arcLength } from '../../engineering/oracles/support-arc.js';
import { meshGrossArea, meshMass, ribMass, ringLength } from '../../engineering/oracles/support-steel.js';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// By property: every figure of any support, divided in any way, sums to the same to the last digit; and by a second
// implementation, in floating point with the functions of src/engineering: it is correct.

const BORED_M = 7;
const START_MM = 3_003_337;
const LENGTH_MM = 60_000;

const FIGURES = [
  'quantity',
  'totalLengthM',
  'areaM2',
  'grossAreaM2',
  'massKg',
  'theoreticalVolumeM3',
  'expectedVolumeM3',
  'deliveredVolumeM3',
  'placedVolumeM3',
] as const;

type Figures = Partial<Record<(typeof FIGURES)[number], number>>;
type Row = Record<string, string | null>;

const ITEMS: Record<string, object> = {
  BOLT: {
    kind: 'bolt',
    unit: 'nr',
    lengthM: '3',
    circumferentialSpacingM: '1.5',
    longitudinalSpacingM: '1.7',
  },
  MESH: { kind: 'mesh', unit: 'm2', massKgPerM2: '4.432', lapPercent: '17.5' },
  RIB: { kind: 'rib', unit: 'nr', massKgPerM: '29', centreLineDiameterM: '6.733' },
  SPRAY: {
    kind: 'sprayed_concrete',
    unit: 'm3',
    theoreticalThicknessMm: '85',
    reboundPercent: '13',
    overbreakPercent: '21',
  },
  SPILE: { kind: 'spile', unit: 'nr', lengthM: '4.333' },
  INVERT: { kind: 'invert_segment', unit: 'nr', lengthM: '1.501', massKg: '2417.333' },
};

interface Line {
  item: string;
  fromMm: number;
  toMm: number;
  quantity: number;
  arcFromDeg: number;
  arcToDeg: number;
  delivered: number | null;
}

/** The figures of a line; absent where it has none. */
const figuresOf = ({ item, fromMm, toMm, quantity, arcFromDeg, arcToDeg, delivered }: Line): Figures => {
  const arc = arcLength(arcDegrees(arcFromDeg, arcToDeg), BORED_M / 2);
  const length = (toMm - fromMm) / 1000;
  const onArc = (metres: number): Figures => (arc * metres > 0 ? { areaM2: arc * metres } : {});
  switch (item) {
    case 'BOLT':
      return { quantity, totalLengthM: totalLength(quantity, 3), ...onArc(length || 1.7) };
    case 'MESH':
      return {
        quantity,
        areaM2: quantity,
        grossAreaM2: meshGrossArea(quantity, 17.5),
        massKg: meshMass(quantity, 17.5, 4.432),
      };
    case 'RIB':
      return { quantity, massKg: quantity * ribMass(29, ringLength(6.733)) };
    case 'SPILE':
      return { quantity, totalLengthM: totalLength(quantity, 4.333) };
    case 'INVERT':
      return { quantity, totalLengthM: totalLength(quantity, 1.501), massKg: quantity * 2417.333 };
    default: {
      const { areaM2 } = onArc(length);
      const theory = areaM2 === undefined ? undefined : areaM2 * 0.085;
      return {
        quantity,
        areaM2,
        theoreticalVolumeM3: theory,
        expectedVolumeM3: theory === undefined ? undefined : batchedVolume(theory, 21, 13),
        ...(delivered === null ? {} : { deliveredVolumeM3: delivered, placedVolumeM3: delivered * 0.87 }),
      };
    }
  }
};

const anyLine = fc
  .record({
    item: fc.constantFrom(...Object.keys(ITEMS)),
    fromMm: fc.integer({ min: 0, max: LENGTH_MM - 1 }),
    lengthMm: fc.oneof(fc.constant(0), fc.integer({ min: 1, max: 20_000 })),
    number: fc.integer({ min: 1, max: 60 }),
    thousandths: fc.integer({ min: 1, max: 50_000 }),
    arcFromDeg: fc.integer({ min: 0, max: 360 }),
    arcToDeg: fc.integer({ min: 0, max: 360 }),
    delivered: fc.option(fc.integer({ min: 1, max: 60_000 })),
  })
  .map(({ lengthMm, number, thousandths, delivered, ...line }): Line => {
    const isCounted = !['MESH', 'SPRAY'].includes(line.item);
    return {
      ...line,
      toMm: Math.min(line.fromMm + lengthMm, LENGTH_MM),
      quantity: isCounted ? number : thousandths / 1000,
      delivered: line.item === 'SPRAY' && delivered !== null ? delivered / 1000 : null,
    };
  });

const cuts = fc.uniqueArray(fc.integer({ min: 0, max: LENGTH_MM }), { minLength: 2, maxLength: 6 });

let app: TestApp;
let drives = 0;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  for (const [code, item] of Object.entries(ITEMS)) {
    const answer = await app.http
      .put(`/v1/projects/P1/support-items/${code}`)
      .send({ description: code, ...item });
    expect(answer.status).toBeLessThan(300);
  }
});

afterAll(() => app.close());

/** The sum of a figure, in thousandths; null if no row has it. */
const sumOf = (rows: Row[], figure: string): bigint | null => {
  const given = rows.flatMap(({ [figure]: value }) => (typeof value === 'string' ? [value] : []));
  return given.length === 0 ? null : given.reduce((sum, value) => sum + BigInt(value.replace('.', '')), 0n);
};

/** The sum of a figure over lines, each with the part that counts. */
const naiveSum = (lines: { line: Line; part: number }[], figure: keyof Figures): number | null => {
  const given = lines.flatMap(({ line, part }) => {
    const value = figuresOf(line)[figure];
    return value === undefined ? [] : [value * part];
  });
  return given.length === 0 ? null : given.reduce((sum, value) => sum + value, 0);
};

/** Part of a line's length within [from, to). */
const lengthWithin = ({ fromMm, toMm }: Line, from: number, to: number): number =>
  fromMm === toMm
    ? Number(from <= fromMm && fromMm < to)
    : Math.max(0, Math.min(toMm, to) - Math.max(fromMm, from)) / (toMm - fromMm);

/** Part of a line's pieces within [from, to): each is laid out, in units of 1/(2n) mm. */
const piecesWithin = ({ fromMm, toMm, quantity }: Line, from: number, to: number): number => {
  const standing = Array.from(
    { length: quantity },
    (_, index) => 2 * quantity * fromMm + (2 * index + 1) * (toMm - fromMm),
  );
  return (
    standing.filter((place) => 2 * quantity * from <= place && place < 2 * quantity * to).length / quantity
  );
};

/** Number, length and mass of counted items follow the pieces; other figures are spread by length. */
const partWithin = (line: Line, figure: keyof Figures, from: number, to: number): number =>
  !['MESH', 'SPRAY'].includes(line.item) && ['quantity', 'totalLengthM', 'massKg'].includes(figure)
    ? piecesWithin(line, from, to)
    : lengthWithin(line, from, to);

describe('the measure of any support', () => {
  it('is correct, and sums to the same however it is divided', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom<1 | -1>(1, -1),
        fc.array(anyLine, { minLength: 1, maxLength: 8 }),
        cuts,
        fc.integer({ min: 3000, max: 25_000 }),
        async (direction, lines, places, intervalMm) => {
          const url = `/v1/projects/P1/drives/C${(drives += 1)}`;
          const chainage = (mm: number): string => formatChainage(START_MM + direction * mm);
          await aDrive(app, {
            drive: `C${drives}`,
            startChainage: chainage(0),
            endChainage: chainage(LENGTH_MM),
            direction,
          });
          const shift = aShift();
          for (const line of lines)
            shift.withSupport(line.item, chainage(line.fromMm), chainage(line.toMm), String(line.quantity), {
              arcFromDeg: String(line.arcFromDeg),
              arcToDeg: String(line.arcToDeg),
              ...(line.delivered === null ? {} : { deliveredVolumeM3: String(line.delivered) }),
            });
          const ordered = [...places].sort((a, b) => a - b);
          const classes = ordered.slice(1).map((to, index) => ({
            name: index % 3 === 2 ? null : index % 3 === 1 ? 'B' : 'A', // every third length is not noted
            from: ordered[index] ?? 0,
            to,
          }));
          for (const { name, from, to } of classes)
            if (name !== null) shift.withGround(name, chainage(from), chainage(to));
          const posted = await app.http.put(`${url}/shifts/${shift.date}/day`).send(shift.build());
          expect(posted.status).toBe(201);

          const read = async (path = ''): Promise<Row[]> =>
            (await app.http.get(`${url}/support-measures${path}`)).body.items as Row[];
          const [total, byClass] = [await read(), await read('/ground-classes')];
          const byInterval: Row[] = [];
          for (let after: string | null = ''; after !== null;) {
            const page = `${url}/support-measures/intervals?first=5${after}&lengthM=${intervalMm / 1000}`;
            const { body } = await app.http.get(page);
            byInterval.push(...(body.items as Row[]));
            after = body.next === null ? null : `&after=${String(body.next)}`;
          }
          const others = [await read('/days'), byClass, byInterval];
          for (const item of Object.keys(ITEMS)) {
            const of = (rows: Row[]): Row[] => rows.filter((row) => row['item'] === item);
            const own = lines.filter((line) => line.item === item);
            for (const figure of FIGURES) {
              const whole = sumOf(of(total), figure);
              for (const rows of others) expect(sumOf(of(rows), figure)).toBe(whole);
              const expected = naiveSum(
                own.map((line) => ({ line, part: 1 })),
                figure,
              );
              if (expected === null) expect(whole).toBeNull();
              else expect(Math.abs(Number(whole) / 1000 - expected)).toBeLessThan(0.0006 * own.length);
              for (const name of ['A', 'B']) {
                const inClass = own.map((line) => ({
                  line,
                  part: classes
                    .filter((cut) => cut.name === name)
                    .reduce((sum, cut) => sum + partWithin(line, figure, cut.from, cut.to), 0),
                }));
                const noted = of(byClass).filter((row) => row['groundClass'] === name);
                const reported = Number(sumOf(noted, figure) ?? 0n) / 1000;
                // a share is rounded at each end of each note
                expect(Math.abs(reported - (naiveSum(inClass, figure) ?? 0))).toBeLessThan(
                  0.005 * own.length + 1e-9,
                );
              }
            }
          }
        },
      ),
      { numRuns: 15 },
    );
  });
});
