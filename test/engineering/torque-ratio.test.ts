import fc from 'fast-check';
import { isRegularAdvance, theoreticalTorque, torqueRatio } from '../../src/engineering/torque-ratio.js';

const machineA = { discCount: 50, discRadiusMm: 241.3, boredDiameterM: 7, idleTorqueKnm: 180 };
const machineB = { discCount: 70, discRadiusMm: 241.3, boredDiameterM: 10, idleTorqueKnm: 400 };
const machineC = { discCount: 60, discRadiusMm: 241.3, boredDiameterM: 9, idleTorqueKnm: 220 };

describe('theoreticalTorque', () => {
  it('falls to the idle torque without thrust, and as penetration goes to 0', () => {
    expect(theoreticalTorque(0, 8, machineA)).toBe(180);
    expect(theoreticalTorque(10_000, 1e-9, machineA)).toBeCloseTo(180, 0);
  });

  // A disc pressed in to its axle: α = 90°, so Ft = Fn · tan 45° = Fn; 0.3 · 10 000 · 7 + 180.
  it('takes the whole thrust as rolling force at a penetration of one radius', () => {
    expect(theoreticalTorque(10_000, 241.3, machineA)).toBeCloseTo(21_180, 6);
  });

  // First strokes of the three published tables, read in the source: Erharter et al., MIT licence,
  // doi 10.1007/s00603-025-04542-4.
  it.each([
    ['A', machineA, 10_360.8198, 9.809251, 1665.716, 3313.985, 0.502632, 0.35, 0.57],
    ['B', machineB, 20_640.7546, 6.742535, 3992.518, 7770.891, 0.513779, 0.45, 0.57],
    ['C', machineC, 20_030.5836, 6.134756, 3652.451, 6356.778, 0.574576, 0.53, 0.63],
  ])(
    'published machine %s: torque and ratio',
    (_name, machine, thrust, p, torque, theory, ratio, lower, upper) => {
      const theoretical = theoreticalTorque(thrust, p, machine);
      expect(theoretical).toBeCloseTo(theory, 3);
      expect(torqueRatio(torque, theoretical)).toBeCloseTo(ratio, 6);
      expect(isRegularAdvance(torqueRatio(torque, theoretical), lower, upper)).toBe(true);
    },
  );

  // Half-angle identity, no arccos and no tangent: tan(α/2) = √(p / (2r − p)) where cos α = 1 − p/r.
  it('agrees with the half-angle identity', () => {
    const thrust = fc.double({ min: 1, max: 50_000, noNaN: true });
    const penetration = fc.double({ min: 0.1, max: 400, noNaN: true });
    fc.assert(
      fc.property(thrust, penetration, (f, p) => {
        const identity = 0.3 * f * Math.sqrt(p / (2 * 241.3 - p)) * 7 + 180;
        expect(theoreticalTorque(f, p, machineA) / identity).toBeCloseTo(1, 10);
      }),
    );
  });

  it.each([0, -1, 482.6, 500, NaN])('refuses a penetration of %p mm/rev', (p) => {
    expect(() => theoreticalTorque(10_000, p, machineA)).toThrow(`penetrationMmPerRev is ${p}; it must be`);
  });

  it('names the disc diameter that penetration must stay below', () => {
    expect(() => theoreticalTorque(10_000, 500, machineA)).toThrow(/below the disc's diameter, 482\.6 mm/);
  });

  it.each([
    ['discCount', 0],
    ['discCount', 49.5],
    ['discRadiusMm', 0],
    ['boredDiameterM', 0],
    ['idleTorqueKnm', -1],
  ])('refuses a machine with %s %p', (name, value) => {
    expect(() => theoreticalTorque(10_000, 8, { ...machineA, [name]: value })).toThrow(`${name} is ${value}`);
  });
});

describe('torqueRatio', () => {
  it('is 0 without torque and 1 at the theoretical torque', () => {
    expect(torqueRatio(0, 3000)).toBe(0);
    expect(torqueRatio(3000, 3000)).toBe(1);
  });

  it('refuses to divide by no theoretical torque', () => {
    expect(() => torqueRatio(1000, 0)).toThrow(/theoreticalTorqueKnm is 0/);
    expect(() => torqueRatio(-1, 1000)).toThrow(/torqueKnm is -1/);
  });
});

describe('isRegularAdvance', () => {
  // Both bounds are strict, as published.
  it.each([
    [0.35, false],
    [0.350001, true],
    [0.569999, true],
    [0.57, false],
    [0, false],
    [2, false],
  ])('ratio %f between 0.35 and 0.57: %p', (ratio, regular) => {
    expect(isRegularAdvance(ratio, 0.35, 0.57)).toBe(regular);
  });

  it('refuses bounds with nothing between them, and a ratio that is not a number', () => {
    expect(() => isRegularAdvance(0.5, 0.57, 0.35)).toThrow(/lower is 0\.57; it must be below upper, 0\.35/);
    expect(() => isRegularAdvance(0.5, 0.5, 0.5)).toThrow(RangeError);
    expect(() => isRegularAdvance(NaN, 0.35, 0.57)).toThrow(RangeError);
    expect(() => isRegularAdvance(0.5, -0.1, 0.57)).toThrow(RangeError);
  });
});
