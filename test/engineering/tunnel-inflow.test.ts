import { goodmanInflow, per100mLPerMin } from '../../src/engineering/tunnel-inflow.js';

// Goodman et al. 1965, worked by hand: 2π · 1e-7 · 100 = 6.28319e-5, ln(200 / 3.6) = 4.01738; 2π · 1e-8 · 300 = 1.88496e-5,
// ln(600 / 4.7) = 4.84939.

it.each([
  [1e-7, 100, 3.6, 1.564e-5, 93.84],
  [1e-8, 300, 4.7, 3.887e-6, 23.32],
])('K %s m/s, head %s m, radius %s m', (conductivity, head, radius, perMetre, per100m) => {
  const inflow = goodmanInflow(conductivity, head, radius);
  expect(inflow / perMetre).toBeCloseTo(1, 4);
  expect(per100mLPerMin(inflow)).toBeCloseTo(per100m, 2);
});

it('grows with the conductivity in proportion', () => {
  expect(goodmanInflow(3e-6, 50, 3) / goodmanInflow(1e-6, 50, 3)).toBeCloseTo(3, 12);
});

it.each([
  [0, 100, 3.6, 'conductivityMPerS'],
  [1e-7, 0, 3.6, 'headM'],
  [1e-7, 100, 0, 'radiusM'],
  [1e-7, 3.6, 3.6, 'headM is 3.6; it must be above the radius'],
  [Number.NaN, 100, 3.6, 'conductivityMPerS'],
])('refuses K %s m/s, head %s m, radius %s m', (conductivity, head, radius, message) => {
  expect(() => goodmanInflow(conductivity, head, radius)).toThrow(message);
});
