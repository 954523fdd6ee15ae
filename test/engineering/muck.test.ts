import fc from 'fast-check';
import { faceArea, penetrationRate } from '../../src/engineering/boring.js';
import {
  beltCapacity,
  beltLoad,
  beltMassFlow,
  loadFactor,
  looseDensity,
  looseVolume,
  looseVolumeFlow,
} from './oracles/muck.js';

const amount = fc.double({ min: 0.01, max: 10_000, noNaN: true });
const swell = fc.double({ min: 0, max: 300, noNaN: true });

describe('broken rock', () => {
  it('keeps its volume where it does not swell', () => {
    expect(looseVolume(8000, 0)).toBe(8000);
    expect(loadFactor(0)).toBe(1);
    expect(looseDensity(2.7, 0)).toBe(2.7);
  });

  // By hand: at 67 % the load factor is 1 / 1.67 = 0.5988, so 4950 lb/yd³ become 4950 / 1.67 = 2964.07; 8000 m³ at 40 % become 11 200.
  it('has the factors and volume of a hand calculation', () => {
    expect(looseVolume(1, 67)).toBeCloseTo(1.67, 10);
    expect(loadFactor(67)).toBeCloseTo(0.599, 3);
    expect(looseDensity(4950, 67)).toBeCloseTo(2964.07, 2);
    expect(looseVolume(8000, 40)).toBeCloseTo(11_200, 8);
  });

  it('keeps its mass', () => {
    fc.assert(
      fc.property(amount, amount, swell, (volume, density, percent) => {
        const loose = looseVolume(volume, percent) * looseDensity(density, percent);
        expect(loose / (volume * density)).toBeCloseTo(1, 12);
        expect(looseVolume(volume, percent) * loadFactor(percent)).toBeCloseTo(volume, 8);
      }),
    );
  });

  it('refuses a swell or volume below 0 and a density of 0', () => {
    expect(() => looseVolume(1, -1)).toThrow(/swellPercent is -1/);
    expect(() => looseVolume(-1, 40)).toThrow(/bankVolumeM3 is -1/);
    expect(() => loadFactor(NaN)).toThrow(/swellPercent is NaN/);
    expect(() => looseDensity(0, 40)).toThrow(/densityTPerM3 is 0/);
    expect(() => looseVolume(1e300, 1e300)).toThrow(/loose volume is Infinity/);
  });
});

describe('the belt', () => {
  it('carries nothing when nothing is loaded or it stands still', () => {
    expect(beltMassFlow(40, 0, 2.7)).toBe(0);
    expect(looseVolumeFlow(40, 0, 65)).toBe(0);
    expect(beltCapacity(0.11, 0, 1.6)).toBe(0);
    expect(beltLoad(0, 1584)).toBe(0);
    expect(beltLoad(1584, 1584)).toBe(1);
  });

  // Computed by hand: 40.7150 m² · 3.0 m/h · 2.7 t/m³; · 1.65 and 1.80; 69.8415 m² · 2.5 · 2.7.
  it.each([
    [7.2, 3, 2.7, 329.79, 201.54, 219.86],
    [9.43, 2.5, 2.7, 471.43, 288.1, 314.28],
  ])(
    'gets, from D %d m at %d m/h and %d t/m³, %d t/h, loose %d and %d m³/h',
    (d, rate, density, mass, at65, at80) => {
      expect(beltMassFlow(faceArea(d), rate, density)).toBeCloseTo(mass, 2);
      expect(looseVolumeFlow(faceArea(d), rate, 65)).toBeCloseTo(at65, 1);
      expect(looseVolumeFlow(faceArea(d), rate, 80)).toBeCloseTo(at80, 1);
    },
  );

  // Computed by hand: 3600 · 0.11 · 2.5 · 1.6; 329.79 of it are 20.8 %.
  it('carries 1584 t/h at 0.11 m², 2.5 m/s and 1.6 t/m³, and 329.79 t/h load it by 20.8 %', () => {
    expect(beltCapacity(0.11, 2.5, 1.6)).toBeCloseTo(1584, 8);
    expect(beltLoad(329.79, 1584)).toBeCloseTo(0.208, 3);
    expect(beltMassFlow(faceArea(7.2), penetrationRate(5, 10), 2.7) / 1584).toBeCloseTo(0.208, 3);
  });

  it('moves the same mass by volume as by mass', () => {
    fc.assert(
      fc.property(amount, amount, amount, swell, (area, rate, density, percent) => {
        const byVolume = looseVolumeFlow(area, rate, percent) * looseDensity(density, percent);
        expect(byVolume / beltMassFlow(area, rate, density)).toBeCloseTo(1, 12);
      }),
    );
  });

  it('refuses an impossible belt, face or rate', () => {
    expect(() => beltMassFlow(0, 3, 2.7)).toThrow(/faceAreaM2 is 0/);
    expect(() => beltMassFlow(40, -3, 2.7)).toThrow(/penetrationRateMPerH is -3/);
    expect(() => beltMassFlow(40, 3, 0)).toThrow(/densityTPerM3 is 0/);
    expect(() => looseVolumeFlow(40, 3, -1)).toThrow(/swellPercent is -1/);
    expect(() => beltCapacity(0, 2.5, 1.6)).toThrow(/loadedAreaM2 is 0/);
    expect(() => beltCapacity(0.11, -1, 1.6)).toThrow(/beltSpeedMPerS is -1/);
    expect(() => beltCapacity(0.11, 2.5, 0)).toThrow(/looseDensityTPerM3 is 0/);
    expect(() => beltLoad(1, 0)).toThrow(/beltCapacityTPerH is 0/);
    expect(() => beltLoad(-1, 1)).toThrow(/massFlowTPerH is -1/);
  });
});
