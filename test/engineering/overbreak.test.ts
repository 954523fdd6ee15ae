import fc from 'fast-check';
import { overbreakVolume } from '../../src/engineering/overbreak.js';

describe('overbreakVolume', () => {
  // By hand.
  it.each([
    ['0.5', '1.7', '0.850'],
    ['0', '3', '0.000'],
    ['0.001', '0.499', '0.000'],
    ['0.001', '0.5', '0.001'],
    ['1.005', '1', '1.005'],
    ['1.333', '2.5', '3.333'], // 3.3325
    ['999.999', '999999.999', '999998999.000'], // 1e9 − 1000 − 0.001 + 1e-6
  ])('of %s m² over %s m is %s m³', (area, length, expected) => {
    expect(overbreakVolume(area, length)).toBe(expected);
  });

  it('lies within half a litre of the product', () => {
    const thousandths = fc.integer({ min: 0, max: 100_000 });
    fc.assert(
      fc.property(thousandths, thousandths, (area, length) => {
        const volume = Number(overbreakVolume((area / 1000).toFixed(3), (length / 1000).toFixed(3)));
        expect(Math.abs(volume - (area * length) / 1e6)).toBeLessThan(0.000501);
      }),
    );
  });

  it('refuses what is negative or has too many decimals', () => {
    expect(() => overbreakVolume('-0.1', '1')).toThrow(/areaM2/);
    expect(() => overbreakVolume('0.1', '-1')).toThrow(/lengthM/);
    expect(() => overbreakVolume('0.0001', '1')).toThrow(/three decimals/);
  });
});
