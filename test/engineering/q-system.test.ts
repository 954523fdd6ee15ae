import {
  boltLength,
  equivalentDimension,
  maximumUnsupportedSpan,
  qClass,
  type QFactors,
  qValue,
  temporaryEsr,
  temporaryQ,
  wallBoltLength,
  wallQ,
} from '../../src/engineering/q-system.js';
import { Q_1974 } from '../../src/engineering/rating-tables/q-1974.js';
import { Q_2013 } from '../../src/engineering/rating-tables/q-2013.js';

// Barton, Lien and Lunde 1974 and the NGI handbook, transcribed. Published examples name their source; the others are computed by hand, with
// the fraction written beside them.

const factors = (
  [rqdPercent = 0, jn = 0, jr = 0, ja = 0, jw = 0, srf = 0]: number[],
  more: Partial<QFactors> = {},
): QFactors => ({ rqdPercent, jn, jr, ja, jw, srf, location: 'normal', jrSpacingAbove3M: false, ...more });

const ROW_1 = [68, 9, 1.5, 1, 1, 1];

describe('Q', () => {
  it.each([
    // transcribed: worked example of an open engineering note, 11.33
    [ROW_1, (68 / 9) * 1.5, 'good'],
    // inputs seen in open test code, result by hand: 90/3 · 3
    [[90, 3, 3, 1, 1, 1], 90, 'very good'],
    // by hand: 15/6 · 1.5 · 0.66
    [[15, 6, 1.5, 1, 0.66, 1], 2.475, 'poor'],
    // by hand, RQD 5 counts as 10: 10/15 · 1/4 · 0.5/5 = 1/60
    [[5, 15, 1, 4, 0.5, 5], 1 / 60, 'extremely poor'],
    // by hand: 85/9 · 3
    [[85, 9, 3, 1, 1, 1], 85 / 3, 'good'],
  ])('of %j is %d, %s', (row, expected, name) => {
    const { q } = qValue(factors(row));
    expect(q).toBeCloseTo(expected, 10);
    expect(qClass(q, Q_2013)).toBe(name);
  });

  it.each([
    ['portal', 18, 17 / 3, 'fair'], // 68/18 · 1.5 = 5.667
    ['intersection', 27, 34 / 9, 'poor'], // 68/27 · 1.5 = 3.778
  ] as const)('counts more joint sets at a %s', (location, jn, expected, name) => {
    const value = qValue(factors(ROW_1, { location }));
    expect(value).toEqual({ q: expect.closeTo(expected, 10), rqdPercent: 68, rqdRaised: false, jn, jr: 1.5 });
    expect(qClass(value.q, Q_2013)).toBe(name);
  });

  it('raises Jr by 1 for a wide spacing only when stated', () => {
    const value = qValue(factors(ROW_1, { jrSpacingAbove3M: true }));
    expect([value.jr, value.q]).toEqual([2.5, expect.closeTo((68 / 9) * 2.5, 10)]);
  });

  it.each([
    [0, 10, true],
    [9.99, 10, true],
    [10, 10, false],
    [100, 100, false],
  ])('takes an RQD of %d as %d and says whether it was raised', (rqd, counted, raised) => {
    const { rqdPercent, rqdRaised } = qValue(factors([rqd, 9, 1, 1, 1, 1]));
    expect([rqdPercent, rqdRaised]).toEqual([counted, raised]);
  });

  it.each([
    [[101, 9, 1, 1, 1, 1], 'rqdPercent'],
    [[-1, 9, 1, 1, 1, 1], 'rqdPercent'],
    [[50, 0, 1, 1, 1, 1], 'jn'],
    [[50, 9, 1, 1, 1, 0], 'srf'],
    [[50, 9, 1, NaN, 1, 1], 'ja'],
  ])('refuses %j', (row, name) => {
    expect(() => qValue(factors(row))).toThrow(new RegExp(`^${name} is`));
  });
});

describe('the class of Q', () => {
  // The lower bound is in the class: rule of the project.
  it.each([
    [0.0001, 'exceptionally poor'],
    [0.001, 'exceptionally poor'],
    [0.00999, 'exceptionally poor'],
    [0.01, 'extremely poor'],
    [0.1, 'very poor'],
    [0.999, 'very poor'],
    [1, 'poor'],
    [3.999, 'poor'],
    [4, 'fair'],
    [10, 'good'],
    [39.99, 'good'],
    [40, 'very good'],
    [100, 'extremely good'],
    [400, 'exceptionally good'],
    [1000, 'exceptionally good'],
    [2000, 'exceptionally good'],
  ])('of %d is %s', (q, name) => {
    expect([qClass(q, Q_2013), qClass(q, Q_1974)]).toEqual([name, name]);
  });

  it('is exact at a boundary where the factors are', () => {
    // By hand, exactly 4: 12/9 · 3 = 4, and 100/15 · 3 · 0.2 = 4; exactly 0.1: 30/20 · 1/10 · 0.66/0.99.
    const onEdge = [
      qValue(factors([12, 9, 3, 1, 1, 1])).q,
      qValue(factors([100, 15, 3, 1, 0.2, 1])).q,
      qValue(factors([30, 20, 1, 10, 0.66, 0.99])).q,
    ];
    expect(onEdge).toEqual([4, 4, 0.1]);
    expect(() => qClass(0, Q_2013)).toThrow('q is 0');
  });
});

describe('figures of support', () => {
  it.each([
    [6, 1.6, 2.5625], // transcribed: the same note
    [9.5, 1, 3.425],
    [9.5, 1.5, 2.95], // temporary, 1.5 · ESR
    [7.2, 1.6, 2.675],
  ])('bolts of a span of %d m and ESR %d are %d m', (span, esr, length) => {
    expect(boltLength(span, esr)).toBeCloseTo(length, 10);
  });

  it.each([
    [1, 2],
    [2.475, 2.8738],
    [34 / 3, 5.2817], // 11.333
    [0.1, 0.7962],
  ])('a Q of %d needs no support to De %d', (q, de) => {
    expect(maximumUnsupportedSpan(q, 1)).toBeCloseTo(de, 4);
    expect(equivalentDimension(maximumUnsupportedSpan(q, 1.6), 1.6)).toBeCloseTo(de, 4);
  });

  it.each([
    [0.1, 0.1],
    [0.2, 0.5],
    [10, 25],
    [10.1, 50.5],
  ])('walls count a Q of %d as %d', (q, wall) => {
    expect(wallQ(q)).toBeCloseTo(wall, 10);
  });

  it('takes 5 Q and 1.5 ESR for temporary support, and the height for bolts of a wall', () => {
    expect(boltLength(9.5, temporaryEsr(1))).toBeCloseTo(2.95, 10); // by hand 2 + 0.15 · 9.5 / 1.5
    expect(temporaryEsr(1.6)).toBe(2.4);
    expect(temporaryQ(2.475)).toBeCloseTo(12.375, 10);
    expect(wallBoltLength(8, 1.6)).toBeCloseTo(2.75, 10); // by hand 2 + 0.15 · 5
    expect(() => temporaryQ(0)).toThrow('q is 0');
    expect(() => temporaryEsr(0)).toThrow('esr is 0');
    expect(() => wallBoltLength(0, 1)).toThrow('wallHeightM is 0');
    expect(() => wallBoltLength(1, 0)).toThrow('esr is 0');
  });

  it('refuses a span or an ESR of 0', () => {
    expect(() => boltLength(0, 1)).toThrow('spanM is 0');
    expect(() => equivalentDimension(7, 0)).toThrow('esr is 0');
  });
});
