import fc from 'fast-check';
import {
  POSITION_LIMIT_MM,
  chainageMm,
  drivenMm,
  formatChainage,
  metresText,
  parseChainage,
  toMillimetres,
  type Direction,
} from '../../src/engineering/chainage.js';

const position = fc.integer({ min: -POSITION_LIMIT_MM, max: POSITION_LIMIT_MM });
const nearPosition = fc.integer({ min: -POSITION_LIMIT_MM / 3, max: POSITION_LIMIT_MM / 3 });
const direction = fc.constantFrom<Direction>(1, -1);

describe('parseChainage', () => {
  it.each([
    ['0+000', 0],
    ['-0+000.000', 0],
    ['0', 0],
    ['9999+999.999', 9_999_999_999],
    ['-9999+999.999', -9_999_999_999],
    ['9999999.999', 9_999_999_999],
  ])('reads the limiting case %s as %d mm', (text, mm) => {
    expect(parseChainage(text)).toBe(mm);
  });

  // By definition, computed by hand.
  it.each([
    ['12+345.678', 12_345_678],
    ['12+045.5', 12_045_500],
    ['0+007.25', 7_250],
    ['345.678', 345_678],
  ])('reads %s as %d mm', (text, mm) => {
    expect(parseChainage(text)).toBe(mm);
  });

  // Project rule: the sign stands before the kilometre and counts for the whole.
  it.each([
    ['-1+200', -1_200_000],
    ['-0+000.500', -500],
    ['-345.678', -345_678],
  ])('reads %s as %d mm, the sign for the whole', (text, mm) => {
    expect(parseChainage(text)).toBe(mm);
  });

  it.each(['12+1000', '12+45', '12+', '+345', '+12+345', '12+-345', '12+345+678', '12 + 345', ' 12+345'])(
    'refuses the form %p',
    (text) => expect(() => parseChainage(text)).toThrow(RangeError),
  );

  it.each([
    '',
    '-',
    '.',
    '1.',
    '.5',
    '1e3',
    '1+2e1',
    'NaN',
    'Infinity',
    '0x10',
    '1,5',
    '12+345,678',
    '١+٢٣٤',
  ])('refuses %p, not a decimal number', (text) => expect(() => parseChainage(text)).toThrow(RangeError));

  it.each(['12+345.6789', '345.6780', '0.0001'])('refuses the decimals of %p', (text) => {
    expect(() => parseChainage(text)).toThrow(/at most three decimals/);
  });

  it.each(['10000+000', '-10000+000.000', '10000000', `${'9'.repeat(400)}`])(
    'refuses %p, out of range',
    (text) => {
      expect(() => parseChainage(text)).toThrow(/within ±9999999\.999 m/);
    },
  );
});

describe('formatChainage', () => {
  it.each([
    [0, '0+000.000'],
    [-0, '0+000.000'],
    [1, '0+000.001'],
    [-500, '-0+000.500'],
    [999_999, '0+999.999'],
    [1_000_000, '1+000.000'],
    [-1_200_000, '-1+200.000'],
    [12_345_678, '12+345.678'],
    [-9_999_999_999, '-9999+999.999'],
  ])('writes %d mm as %s', (mm, text) => {
    expect(formatChainage(mm)).toBe(text);
  });

  it.each([0.5, NaN, Infinity, 10_000_000_000, -10_000_000_000])('refuses %p mm', (mm) => {
    expect(() => formatChainage(mm)).toThrow(RangeError);
  });

  it('is undone by parseChainage over the whole range', () => {
    fc.assert(fc.property(position, (mm) => parseChainage(formatChainage(mm)) === mm));
  });

  it('keeps the order of positions within a kilometre', () => {
    const inKilometre = fc.integer({ min: 0, max: 999_999 });
    fc.assert(
      fc.property(inKilometre, inKilometre, (a, b) => a < b === formatChainage(a) < formatChainage(b)),
    );
  });
});

describe('toMillimetres and metresText', () => {
  it.each([
    [0, 0],
    [-0, 0],
    [1.7, 1_700],
    [1.005, 1_005], // 1.005 * 1000 is 1004.9999999999999 in floats
    [0.001, 1],
    [-0.001, -1],
    [9_999_999.999, 9_999_999_999],
    ['1.700', 1_700],
    ['-12.5', -12_500],
  ])('reads %p m as %d mm', (metres, mm) => {
    expect(toMillimetres(metres)).toBe(mm);
  });

  it.each([1.0005, 0.1 + 0.2, 1e-7, '1.0000', NaN, Infinity, 1e21, 10_000_000, '', '1e3', '12+345', '1.'])(
    'refuses %p m',
    (metres) => expect(() => toMillimetres(metres)).toThrow(RangeError),
  );

  it.each([
    [0, '0.000'],
    [-0, '0.000'],
    [1_700, '1.700'],
    [-5, '-0.005'],
    [9_999_999_999, '9999999.999'],
  ])('writes %d mm as %s m', (mm, text) => {
    expect(metresText(mm)).toBe(text);
  });

  it.each([0.5, NaN, 10_000_000_000])('refuses to write %p mm', (mm) => {
    expect(() => metresText(mm)).toThrow(RangeError);
  });

  it('undo each other, by text and by number, over the whole range', () => {
    fc.assert(fc.property(position, (mm) => toMillimetres(metresText(mm)) === mm));
    fc.assert(fc.property(position, (mm) => toMillimetres(Number(metresText(mm))) === mm));
  });
});

describe('drivenMm and chainageMm', () => {
  it('are 0 and the start at the start, either way', () => {
    expect(drivenMm(12_345_678, 12_345_678, 1)).toBe(0);
    expect(drivenMm(12_345_678, 12_345_678, -1)).toBe(0);
    expect(chainageMm(0, 12_345_678, -1)).toBe(12_345_678);
  });

  // By definition, computed by hand.
  it.each<[number, number, Direction, number]>([
    [12_001_700, 12_000_000, 1, 1_700],
    [11_998_300, 12_000_000, -1, 1_700],
    [-200, 1_500, -1, 1_700],
    [11_999_000, 12_000_000, 1, -1_000],
  ])('chainage %d from start %d, direction %d, is %d mm driven', (chainage, start, way, driven) => {
    expect(drivenMm(chainage, start, way)).toBe(driven);
    expect(chainageMm(driven, start, way)).toBe(chainage);
  });

  it('undo each other', () => {
    fc.assert(
      fc.property(nearPosition, nearPosition, direction, (chainage, start, way) => {
        expect(chainageMm(drivenMm(chainage, start, way), start, way)).toBe(chainage);
      }),
    );
  });

  it('keep lengths', () => {
    fc.assert(
      fc.property(nearPosition, nearPosition, nearPosition, direction, (a, b, start, way) => {
        expect(Math.abs(drivenMm(a, start, way) - drivenMm(b, start, way))).toBe(Math.abs(a - b));
      }),
    );
  });

  it('refuse a direction other than 1 and -1', () => {
    expect(() => drivenMm(0, 0, 0 as Direction)).toThrow(
      new RangeError('direction is 0; it must be 1 or -1.'),
    );
    expect(() => chainageMm(0, 0, 2 as Direction)).toThrow(RangeError);
  });

  it('refuse what is not whole and what leaves the range', () => {
    expect(() => drivenMm(0.5, 0, 1)).toThrow(/chainageMm/);
    expect(() => drivenMm(0, NaN, 1)).toThrow(/startMm/);
    expect(() => drivenMm(POSITION_LIMIT_MM, -1, 1)).toThrow(/drivenMm/);
    expect(() => chainageMm(POSITION_LIMIT_MM, 1, 1)).toThrow(/chainageMm/);
  });
});
