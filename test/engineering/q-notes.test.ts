import { adjusted, type Adjustment } from '../../src/engineering/rating-tables/adjust.js';
import { Q_2013 } from '../../src/engineering/rating-tables/q-2013.js';
import { Q_2013_2 } from '../../src/engineering/rating-tables/q-2013-2.js';
import { Q_1974_2 } from '../../src/engineering/rating-tables/q-1974-2.js';
import { RMR_1989_2 } from '../../src/engineering/rating-tables/rmr-1989-2.js';
import { qRange } from '../../src/engineering/q-range.js';
import type { QFactors } from '../../src/engineering/q-system.js';
import { proposedOrientation } from '../../src/engineering/strike-and-dip.js';
import { unsupportedFaults, unsupportedSpan } from '../../src/engineering/unsupported-span.js';

// The notes of the published methods (marks: docs/calculations.md); expected values by hand.

const { srf, jw, ja } = Q_2013_2.tables;
const note = 'because';

describe('the adjustments of SRF', () => {
  it.each<[string, string, number, Omit<Adjustment, 'note'>, number]>([
    [
      '40 % off a single zone that does not cross, 2.5 · 0.6',
      'E',
      2.5,
      { name: 'zone_influences_only', percent: 40 },
      1.5,
    ],
    ['25 % off 7.5', 'B', 7.5, { name: 'zone_influences_only', percent: 25 }, 5.625],
    ['50 % off 10', 'A', 10, { name: 'zone_influences_only', percent: 50 }, 5],
    ['crown depth below span, 2.5 → 5', 'F', 2.5, { name: 'crown_depth_below_span' }, 5],
    ['unfavourable orientation, 2–5', 'H', 2, { name: 'unfavourable_stress_orientation', value: 4 }, 4],
    [
      'σ1/σ3 5: σc/σ1 6 · 0.75 = 4.5, row J',
      'J',
      20,
      { name: 'anisotropic_stress', stressRatio: 5, strengthRatio: 6 },
      20,
    ],
    [
      'σ1/σ3 12: σc/σ1 6 · 0.5 = 3, row J or K',
      'K',
      60,
      { name: 'anisotropic_stress', stressRatio: 12, strengthRatio: 6 },
      60,
    ],
    [
      'σ1/σ3 10 is not above 10: 14 · 0.75 = 10.5, row G',
      'G',
      1,
      { name: 'anisotropic_stress', stressRatio: 10, strengthRatio: 14 },
      1,
    ],
  ])('%s', (_, row, value, given, counted) => {
    expect(adjusted(srf, row, value, { ...given, note })).toEqual({ counted });
  });

  it.each<[string, string, number, Omit<Adjustment, 'note'>, string, string]>([
    [
      'a zone note on stress',
      'G',
      1,
      { name: 'zone_influences_only', percent: 30 },
      'name',
      'zone_influences_only is for row A, B, C, D, E of srf, not G',
    ],
    [
      'a stress note on a zone',
      'C',
      5,
      { name: 'crown_depth_below_span' },
      'name',
      'crown_depth_below_span is for row F of srf, not C',
    ],
    [
      'more than 50 %',
      'C',
      5,
      { name: 'zone_influences_only', percent: 51 },
      'percent',
      'percent 51 of zone_influences_only must lie from 25 to 50',
    ],
    [
      'less than 25 %',
      'C',
      5,
      { name: 'zone_influences_only', percent: 24 },
      'percent',
      'percent 24 of zone_influences_only must lie from 25 to 50',
    ],
    [
      'no percentage',
      'C',
      5,
      { name: 'zone_influences_only' },
      'percent',
      'percent is missing: zone_influences_only needs it',
    ],
    [
      'a figure too many',
      'F',
      2.5,
      { name: 'crown_depth_below_span', value: 5 },
      'value',
      'crown_depth_below_span takes no value',
    ],
    [
      'an unknown note',
      'F',
      2.5,
      { name: 'ice' },
      'name',
      'srf has no adjustment ice: there are zone_influences_only, anisotropic_stress, crown_depth_below_span, unfavourable_stress_orientation',
    ],
    [
      'a field that is not anisotropic',
      'H',
      1,
      { name: 'anisotropic_stress', stressRatio: 4.9, strengthRatio: 6 },
      'stressRatio',
      'σ1/σ3 of 4.9 is below 5: the strength is not reduced',
    ],
    [
      'the row of the strength that is not reduced',
      'H',
      1,
      { name: 'anisotropic_stress', stressRatio: 6, strengthRatio: 6 },
      'strengthRatio',
      'σc/σ1 of 6 counts as 0.75 · 6 = 4.5: that is row J, not H',
    ],
  ])('refuse %s', (_, row, value, given, at, fault) => {
    expect(adjusted(srf, row, value, { ...given, note })).toEqual({ at, fault });
  });
});

describe('the adjustment of Jw', () => {
  it('raises a row from C to F where drained', () => {
    expect(adjusted(jw, 'D', 0.33, { name: 'drained', value: 0.66, note })).toEqual({ counted: 0.66 });
    expect(adjusted(jw, 'D', 0.33, { name: 'drained', value: 0.33, note })).toMatchObject({
      fault: 'value 0.33 of drained does not raise jw, which is 0.33 in row D',
    });
    expect(adjusted(jw, 'B', 0.66, { name: 'drained', value: 1, note })).toMatchObject({ at: 'name' });
    expect(adjusted(jw, 'D', 0.33, { name: 'drained', value: 1.1, note })).toMatchObject({ at: 'value' });
  });

  it('does not exist in an earlier edition', () => {
    expect(adjusted(Q_2013.tables.jw, 'D', 0.33, { name: 'drained', value: 1, note })).toEqual({
      at: 'name',
      fault: 'jw has no adjustment drained: there is none',
    });
  });
});

describe('the second issue of the tables', () => {
  const friction = (table: typeof ja): string =>
    table.rows.map((r) => `${r.row} ${r.frictionMinDeg ?? ''}-${r.frictionMaxDeg ?? ''}`).join(', ');

  it('has φr with each row of Ja', () => {
    const common =
      'A -, B 25-35, C 25-30, D 20-25, E 8-16, F 25-30, G 16-24, H 12-16, J 6-12, K 16-24, L 12-16, M 6-12';
    expect(friction(ja)).toBe(`${common}, N 12-16, O 12-16, P 6-12`);
    expect(friction(Q_1974_2.tables.ja)).toBe(`${common}, N -, O 12-16, P 12-16, R 6-12`);
  });

  it('has the letters of the handbook in SRF, with one row H', () => {
    expect(srf.rows.map(({ row, min, max }) => `${row} ${min}-${max}`).join(', ')).toBe(
      'A 10-10, B 7.5-7.5, C 5-5, D 5-5, E 2.5-2.5, F 2.5-2.5, G 1-1, H 0.5-2, J 5-50, K 50-200, L 200-400, M 5-10, N 10-20, O 5-10, P 10-15',
    );
  });

  it('changes no value and no class of RMR', () => {
    const { classes, strength_ucs: strength } = RMR_1989_2.tables;
    expect(classes.rows.map(({ row, from }) => [row, from])).toEqual([
      ['V', undefined],
      ['IV', 21],
      ['III', 41],
      ['II', 61],
      ['I', 81],
    ]);
    expect(strength.rows.map(({ min }) => min)).toEqual([0, 1, 2, 4, 7, 12, 15]);
  });
});

const TYPICAL: QFactors = {
  rqdPercent: 80,
  jn: 9,
  jr: 1.5,
  ja: 1,
  jw: 1,
  srf: 1,
  location: 'normal',
  jrSpacingAbove3M: false,
};

describe('the range of Q', () => {
  it('combines the unfavourable and the favourable ends', () => {
    const ends = {
      rqdMinPercent: 60,
      rqdMaxPercent: 90,
      jnMin: 6,
      jnMax: 12,
      jaMax: 2,
      jwMin: 0.66,
      srfMax: 2.5,
    };
    const { lowest, highest } = qRange(TYPICAL, ends);
    // 60/12 · 1.5/2 · 0.66/2.5 = 0.99; 90/6 · 1.5/1 · 1/1 = 22.5
    expect(lowest).toEqual({ q: 0.99, of: { rqdPercent: 60, jn: 12, jr: 1.5, ja: 2, jw: 0.66, srf: 2.5 } });
    expect(highest).toEqual({ q: 22.5, of: { rqdPercent: 90, jn: 6, jr: 1.5, ja: 1, jw: 1, srf: 1 } });
  });

  it('is Q itself without ends, and counts location, spacing and the floor of RQD at both', () => {
    const portal: QFactors = { ...TYPICAL, location: 'portal', jrSpacingAbove3M: true };
    const { lowest, highest } = qRange(portal, { rqdMinPercent: 5 });
    // 10/18 · 2.5 = 1.3889; 80/18 · 2.5 = 11.1111
    expect([lowest.q, highest.q]).toEqual([expect.closeTo(25 / 18, 10), expect.closeTo(100 / 9, 10)]);
    expect(lowest.of).toMatchObject({ rqdPercent: 10, jn: 18, jr: 2.5 });
  });
});

describe('a permanently unsupported opening, by the conditions of 1974', () => {
  const FIT = { rqdPercent: 80, jn: 4, jr: 1.5, ja: 1, jw: 1, srf: 1 };

  it.each([
    [{}, 6, []],
    [{ jn: 12 }, 6, ['Jn 12 is above 9']],
    [{ jr: 0.5 }, 6, ['Jr 0.5 is below 1.0']],
    [{ ja: 2 }, 6, ['Ja 2 is above 1.0']],
    [{ jw: 0.66 }, 6, ['Jw 0.66 is not 1.0']],
    [{ srf: 5 }, 6, ['SRF 5 is above 2.5']],
    [{ srf: 2.5 }, 6, []],
    [{ srf: 2.5, jr: 1, jn: 3 }, 6, ['Jr 1 is below 1.5 with SRF 2.5, above 1']],
    [{ jn: 9 }, 6, ['RQD 80 is below 90 with Jn 9']],
    [{ jn: 9, rqdPercent: 90 }, 6, []],
    [{ jn: 9, rqdPercent: 90, jr: 1 }, 6, ['Jr 1 is below 1.5 with Jn 9', 'Jn 9 is not below 4 with Jr 1']],
    [{ jr: 1, jn: 3 }, 6, []],
    [{ jn: 9, rqdPercent: 95 }, 10.1, ['Jn 9 is not below 9 with a span above 10 m']],
    [{ jn: 9, rqdPercent: 95 }, 10, []],
    [{ jn: 6 }, 20, []],
    [{ jn: 6 }, 20.1, ['Jn 6 and SRF 1 are not at most 4 and 1 with a span above 20 m']],
    [{ srf: 2.5 }, 21, ['Jn 4 and SRF 2.5 are not at most 4 and 1 with a span above 20 m']],
  ])('%j with a span of %d m: %j', (more, span, faults) => {
    expect(unsupportedFaults({ ...FIT, ...more }, span)).toEqual(faults);
  });

  it('ends at 10 m or 20 m where the inputs allow no wider one', () => {
    // 2 · 1.6 · 100^0.4 = 20.19 m
    expect(unsupportedSpan(100, 1.6, FIT)).toBeCloseTo(20.191, 3);
    expect(unsupportedSpan(100, 1.6, { ...FIT, jn: 6 })).toBe(20);
    expect(unsupportedSpan(100, 1.6, { ...FIT, jn: 9 })).toBe(10);
    expect(unsupportedSpan(1, 1.6, { ...FIT, jn: 9 })).toBe(3.2);
  });
});

describe('R6 by dip, dip direction and axis', () => {
  it.each([
    // the nine cells of the published table; the drive runs at 90
    [60, 90, 'perpendicular_with_dip_45_90', 'very_favourable', 0],
    [30, 90, 'perpendicular_with_dip_20_45', 'favourable', -2],
    [10, 90, 'any_0_20', 'fair', -5],
    [60, 270, 'perpendicular_against_dip_45_90', 'fair', -5],
    [30, 270, 'perpendicular_against_dip_20_45', 'unfavourable', -10],
    [10, 270, 'any_0_20', 'fair', -5],
    [60, 180, 'parallel_45_90', 'very_unfavourable', -12],
    [30, 0, 'parallel_20_45', 'fair', -5],
    [0, 0, 'any_0_20', 'fair', -5],
    // bounds
    [45, 90, 'perpendicular_with_dip_45_90', 'very_favourable', 0],
    [44.99, 90, 'perpendicular_with_dip_20_45', 'favourable', -2],
    [20, 180, 'parallel_20_45', 'fair', -5],
    [60, 135, 'perpendicular_with_dip_45_90', 'very_favourable', 0], // strike at 45° to the axis
    [60, 135.1, 'parallel_45_90', 'very_unfavourable', -12],
    [60, 225, 'perpendicular_against_dip_45_90', 'fair', -5],
  ])('dip %d towards %d: %s', (dipDeg, dipDirectionDeg, row, orientation, rating) => {
    expect(proposedOrientation({ dipDeg, dipDirectionDeg }, 90, RMR_1989_2)).toMatchObject({
      row,
      orientation,
      rating,
    });
  });

  it('measures across north, and names the other case where the strike is oblique', () => {
    const proposal = proposedOrientation({ dipDeg: 60, dipDirectionDeg: 10 }, 330.5, RMR_1989_2);
    // 10 − 330.5 = −320.5, so 39.5 between; strike at 50.5
    expect(proposal).toEqual({
      edition: 'rmr-1989.2',
      row: 'perpendicular_with_dip_45_90',
      orientation: 'very_favourable',
      rating: 0,
      strikeAngleDeg: 50.5,
      remark:
        'The strike lies at 50.5° to the axis, between the cases of the table: as parallel_45_90 it would be very_unfavourable.',
    });
  });

  it.each([
    [90.1, 0, 0],
    [10, 360, 0],
    [10, 0, 360],
    [10, -1, 0],
  ])('refuses %d, %d, %d', (dipDeg, dipDirectionDeg, azimuth) => {
    expect(() => proposedOrientation({ dipDeg, dipDirectionDeg }, azimuth, RMR_1989_2)).toThrow(RangeError);
  });
});
