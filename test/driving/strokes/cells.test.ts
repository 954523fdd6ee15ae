import { DriveFrame } from '../../../src/common/drive-frame.js';
import { isPastMillimetre, readPosition } from '../../../src/features/driving/strokes/import-cells.js';

/** From chainage −10 m over 30 m, with rising chainage. */
const frame = new DriveFrame(-10_000, 30_000, 1);

describe('a position of a table', () => {
  // 98.6, 66.29 and 73.1 as results of IEEE 754 sums of 0.1 and 1.7; the open stroke table contains such figures.
  it.each([
    ['8.6', 8600],
    ['8.60000', 8600],
    ['8.59999999999999', 8600],
    ['6.29000000000001', 6290],
    ['0.00000000000001', 0],
    ['9.99999999999999', 10_000],
  ])('%s m is %i mm driven', (text, mm) => {
    expect(readPosition(text, frame, false)).toBe(mm);
  });

  it.each([
    ['-0+009.59999999999999', 400],
    ['-9.60000000000001', 400],
    ['-0.00000000000001', 10_000],
    ['0+019.99999999999999', 30_000],
  ])('chainage %s is %i mm driven', (text, mm) => {
    expect(readPosition(text, frame, true)).toBe(mm);
  });

  it.each(['8.6001', '8.5999', '8.60001', '8.599995', '8.6000001', '1e1', ' 8.6', '+8.6', '.5', ''])(
    '"%s" is refused, not rounded',
    (text) => {
      expect(() => readPosition(text, frame, false)).toThrow(RangeError);
    },
  );

  it('is reported when the figure read differs from the one shown', () => {
    expect(['8.6', '8.600', '8.6000', '8.60000000000001', '8.59999999999999'].map(isPastMillimetre)).toEqual([
      false,
      false,
      false,
      true,
      true,
    ]);
  });
});
