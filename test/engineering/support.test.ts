import fc from 'fast-check';
import {
  boltsPerMetre,
  boltsPerSquareMetre,
  numberAtSpacing,
  numberInRows,
  totalLength,
} from './oracles/bolt-pattern.js';
import {
  batchedVolume,
  meanThickness,
  measuredRebound,
  theoreticalVolume,
  volumeFactor,
} from './oracles/sprayed-concrete.js';
import { arcDegrees, arcLength } from './oracles/support-arc.js';
import { meshGrossArea, meshMass, ribMass, ribMassPerMetre, ringLength } from './oracles/support-steel.js';

// Elementary formulas; figures computed by hand [by hand], beside each its sum. Rules: docs/calculations.md.

const size = fc.double({ min: 0.01, max: 1000, noNaN: true });
const spacing = fc.double({ min: 0.1, max: 10, noNaN: true });

describe('an arc', () => {
  it('runs clockwise, over the crown too; the whole ring is 360, a place 0', () => {
    expect(arcDegrees(30, 150)).toBe(120);
    expect(arcDegrees(300, 60)).toBe(120);
    expect(arcDegrees(0, 360)).toBe(360);
    expect(arcDegrees(90, 90)).toBe(0);
    expect(arcDegrees(360, 0)).toBe(0);
  });

  it('has its part of the circumference: π · 7.2 · 120 / 360 = 7.5398 m; a half ring of radius 1 is π', () => {
    expect(arcLength(120, 3.6)).toBeCloseTo(7.5398, 4);
    expect(arcLength(180, 1)).toBe(Math.PI);
    expect(arcLength(0, 3.6)).toBe(0);
  });

  it('and its complement make the whole ring', () => {
    const place = fc.integer({ min: 1, max: 359 });
    fc.assert(
      fc.property(place, place, size, (from, to, radius) => {
        fc.pre(from !== to);
        const whole = arcLength(arcDegrees(from, to), radius) + arcLength(arcDegrees(to, from), radius);
        expect(whole / (2 * Math.PI * radius)).toBeCloseTo(1, 12);
      }),
    );
  });

  it('outside the ring is refused', () => {
    expect(() => arcDegrees(-1, 90)).toThrow('fromDeg is -1; it must be from 0 to 360.');
    expect(() => arcDegrees(0, 361)).toThrow('toDeg is 361; it must be from 0 to 360.');
    expect(() => arcDegrees(0, NaN)).toThrow('toDeg is NaN');
    expect(() => arcLength(361, 3.6)).toThrow('arcDeg is 361');
    expect(() => arcLength(90, 0)).toThrow('radiusM is 0');
  });
});

describe('bolts', () => {
  it('number 1 / (s · s) per square metre: 1.5 × 1.5 → 0.4444, 2.0 × 1.7 → 0.2941', () => {
    expect(boltsPerSquareMetre(1.5, 1.5)).toBeCloseTo(0.4444, 4);
    expect(boltsPerSquareMetre(2.0, 1.7)).toBeCloseTo(0.2941, 4);
    expect(boltsPerSquareMetre(1, 1)).toBe(1);
  });

  it('number 4.667 per metre on an arc of 10.5 m at 1.5 × 1.5: 7 in 1.5 m', () => {
    expect(boltsPerMetre(10.5, 1.5, 1.5)).toBeCloseTo(4.667, 3);
    expect(boltsPerMetre(0, 1.5, 1.5)).toBe(0);
  });

  it('are one more than the spaces, counted in whole millimetres', () => {
    expect(numberAtSpacing(10.5, 1.5)).toBe(8);
    expect(numberAtSpacing(0.3, 0.1)).toBe(4);
    expect(numberAtSpacing(1.499, 1.5)).toBe(1);
    expect(numberAtSpacing(0, 1.5)).toBe(1);
  });

  it('of staggered rows alternate: 7, 6, 7, 6, 7 = 33; 7 in each of 4 = 28', () => {
    expect(numberInRows(5, 7, 6)).toBe(33);
    expect(numberInRows(4, 7, 7)).toBe(28);
    expect(numberInRows(1, 7, 6)).toBe(7);
  });

  it('have a total length: 28 of 3.0 m = 84 m', () => {
    expect(totalLength(28, 3)).toBe(84);
    expect(totalLength(0, 3)).toBe(0);
  });

  it('are equally many by area and by metre', () => {
    fc.assert(
      fc.property(size, size, spacing, spacing, (arc, length, around, along) => {
        const byArea = arc * length * boltsPerSquareMetre(around, along);
        expect((boltsPerMetre(arc, around, along) * length) / byArea).toBeCloseTo(1, 12);
      }),
    );
  });

  it('without spacing, length or whole rows are refused', () => {
    expect(() => boltsPerSquareMetre(0, 1.5)).toThrow(/circumferentialSpacingM is 0; it must be .* above 0/);
    expect(() => boltsPerSquareMetre(1e-200, 1e-200)).toThrow(/bolts per m² is Infinity/);
    expect(() => boltsPerMetre(-1, 1.5, 1.5)).toThrow('arcLengthM is -1');
    expect(() => numberAtSpacing(1, 0.0004)).toThrow('spacingM is 0.0004; it must be at least 0.001.');
    expect(() => numberInRows(2.5, 7, 6)).toThrow('rowCount is 2.5; it must be a whole number above 0.');
    expect(() => totalLength(1, 0)).toThrow('lengthM is 0');
  });
});

describe('mesh', () => {
  it('includes its laps: 100 m² with 15 % → 115 m², at 4.4 kg/m² 506 kg', () => {
    expect(meshGrossArea(100, 15)).toBeCloseTo(115, 10);
    expect(meshMass(100, 15, 4.4)).toBeCloseTo(506, 10);
    expect(meshGrossArea(100, 0)).toBe(100);
  });

  it('with a negative lap is refused', () => {
    expect(() => meshGrossArea(100, -1)).toThrow('lapPercent is -1');
    expect(() => meshMass(100, 0, 0)).toThrow('massKgPerM2 is 0');
  });
});

describe('ribs', () => {
  it('weigh kg/m · π · D: HEB 160 on 9.0 m → 1204.49 kg, TH 29 → 819.96 kg', () => {
    expect(ribMass(42.6, ringLength(9))).toBeCloseTo(1204.49, 2);
    expect(ribMass(29, ringLength(9))).toBeCloseTo(819.96, 2);
  });

  it('weigh kg/m times the length that is given; over their spacing, per metre', () => {
    expect(ribMass(29, 7.5)).toBe(217.5);
    expect(ribMassPerMetre(1204.49, 1.5)).toBeCloseTo(802.99, 2); // 1204.49 / 1.5
  });

  it('without mass, length or spacing are refused', () => {
    expect(() => ringLength(0)).toThrow('centreLineDiameterM is 0');
    expect(() => ribMass(0, 1)).toThrow('massKgPerM is 0');
    expect(() => ribMassPerMetre(1, 0)).toThrow('spacingM is 0');
  });
});

describe('sprayed concrete', () => {
  it('is arc · thickness · length: 10.5 · 0.10 · 1.7 = 1.785 m³', () => {
    expect(theoreticalVolume(10.5, 100, 1.7)).toBeCloseTo(1.785, 10);
    expect(theoreticalVolume(0, 100, 1.7)).toBe(0);
  });

  it('is batched with its rebound: 10 % → 1.9833, 25 % → 2.3800 m³; and with 20 % of overbreak 2.3800', () => {
    expect(batchedVolume(1.785, 0, 10)).toBeCloseTo(1.9833, 4);
    expect(batchedVolume(1.785, 0, 25)).toBeCloseTo(2.38, 10);
    expect(batchedVolume(1.785, 20, 10)).toBeCloseTo(2.38, 10); // 2.142 / 0.9
    expect(batchedVolume(1.785, 0, 0)).toBe(1.785);
  });

  it('has a factor on theory, and its rebound, as measured: 2.38 of 1.785 → 1.3333; 1.785 of 2.38 stay → 25 %', () => {
    expect(volumeFactor(2.38, 1.785)).toBeCloseTo(1.3333, 4);
    expect(measuredRebound(1.785, 2.38)).toBeCloseTo(25, 10);
    expect(measuredRebound(2, 2)).toBe(0);
  });

  it('has a mean thickness: 2.38 m³ less 25 % on 10.5 · 1.7 = 17.85 m² → 100 mm', () => {
    expect(meanThickness(2.38, 25, 17.85)).toBeCloseTo(100, 10);
    expect(meanThickness(0, 25, 17.85)).toBe(0);
  });

  it('has its theoretical thickness when the volume batched for it is delivered', () => {
    const rebound = fc.double({ min: 0, max: 60, noNaN: true });
    fc.assert(
      fc.property(size, size, size, rebound, (arc, thickness, length, percent) => {
        const batched = batchedVolume(theoreticalVolume(arc, thickness, length), 0, percent);
        expect(meanThickness(batched, percent, arc * length) / thickness).toBeCloseTo(1, 10);
      }),
    );
  });

  it('with full rebound, or with more in place than was delivered, is refused', () => {
    expect(() => batchedVolume(1, 0, 100)).toThrow('reboundPercent is 100; it must be below 100.');
    expect(() => batchedVolume(1, -1, 10)).toThrow('overbreakPercent is -1');
    expect(() => theoreticalVolume(10, 0, 1)).toThrow('thicknessMm is 0');
    expect(() => volumeFactor(1, 0)).toThrow('theoreticalVolumeM3 is 0');
    expect(() => measuredRebound(2, 1)).toThrow(
      'placedVolumeM3 is 2; it must not exceed 1, what was delivered.',
    );
    expect(() => meanThickness(1, 10, 0)).toThrow('areaM2 is 0');
    expect(() => meanThickness(1, -1, 10)).toThrow('reboundPercent is -1');
  });
});
