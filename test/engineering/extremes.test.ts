import fc from 'fast-check';
import { axisEnds, multiples, roundStep } from '../../src/engineering/axis-ticks.js';
import { extremesByColumn, type LinePoint } from '../../src/engineering/extremes.js';
import { runs } from '../harness/sizes.js';

// What a drawing leaves out, and the ends of its axes.

const line = fc
  .record({
    xs: fc.uniqueArray(fc.integer({ min: -500, max: 5000 }), { minLength: 0, maxLength: 300 }),
    ys: fc.array(fc.option(fc.integer({ min: -50, max: 50 }), { nil: null, freq: 9 }), {
      minLength: 300,
      maxLength: 300,
    }),
    isFalling: fc.boolean(),
  })
  .map(({ xs, ys, isFalling }) =>
    xs
      .toSorted((one, other) => (isFalling ? other - one : one - other))
      .map((x, index): LinePoint => [x, ys[index] ?? null]),
  );

/** Columns in a different way: a map from the column to its points. */
const columnsOf = (points: LinePoint[], from: number, width: number): Map<number, LinePoint[]> => {
  const columns = new Map<number, LinePoint[]>();
  for (const point of points) {
    const column = Math.floor((point[0] - from) / width);
    columns.set(column, [...(columns.get(column) ?? []), point]);
  }
  return columns;
};

const extremesOf = (points: LinePoint[]): number[] => {
  const values = points.flatMap(([, y]) => (y === null ? [] : [y]));
  return values.length === 0 ? [] : [Math.min(...values), Math.max(...values)];
};

it('keeps the minimum and maximum of every column, the ends of the line, and the gaps', () => {
  fc.assert(
    fc.property(line, fc.integer({ min: 1, max: 400 }), (points, width) => {
      const kept = extremesByColumn(points, 0, width);
      const [before, after] = [columnsOf(points, 0, width), columnsOf(kept, 0, width)];
      expect([...after.keys()]).toEqual([...before.keys()]);
      for (const [column, all] of before)
        expect(extremesOf(after.get(column) ?? [])).toEqual(extremesOf(all));
      expect(kept[0]).toEqual(points[0]);
      const withValue = points.filter(([, y]) => y !== null);
      expect(kept.findLast(([, y]) => y !== null)).toEqual(withValue.at(-1));
      // in order, none invented
      const places = kept.map((point) => points.indexOf(point as LinePoint));
      expect(places).toEqual(places.toSorted((one, other) => one - other));
      expect(new Set(places).size).toBe(kept.length);
      // gaps between points of the line are kept
      const gaps = (list: LinePoint[]): number =>
        list.filter(([, y], at) => y === null && list[at - 1]?.[1] !== null).length;
      expect(gaps(kept)).toBe(gaps(points));
    }),
    runs(100, 2000),
  );
});

it('keeps at most four points of a column without gaps, however many there are', () => {
  const many = Array.from({ length: 12_000 }, (_, index): LinePoint => [index * 1.7, Math.sin(index) * 9]);
  expect(extremesByColumn(many, 0, 20_400 / 900).length).toBeLessThanOrEqual(4 * 901);
  expect(() => extremesByColumn(many, 0, 0)).toThrow('width of a column is 0; it must be greater than 0.');
});

it('cuts axes at 1, 2 or 5 times a power of ten, and ends them there', () => {
  expect([roundStep(320, 6), roundStep(28.6, 6), roundStep(0.9, 5), roundStep(20_000, 8)]).toEqual([
    100, 5, 0.2, 5000,
  ]);
  expect(multiples(0, 0.7, 0.1)).toHaveLength(8);
  expect(multiples(1201, 1399, 100)).toEqual([1300]);
  expect(axisEnds([3, 28.6], 6)).toEqual({ from: 0, to: 30 });
  expect(axisEnds([-3, 7], 5)).toEqual({ from: -4, to: 8 });
  expect(axisEnds([], 5)).toEqual({ from: 0, to: 1 });
});
