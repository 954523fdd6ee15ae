import {
  cutterheadPower,
  faceArea,
  fieldPenetrationIndex,
  penetrationRate,
  thrustPerDisc,
  torquePenetrationIndex,
  boringRate,
  IMPOSSIBLE_RATE_M_PER_H,
} from '../../src/engineering/boring.js';

describe('penetrationRate', () => {
  it('gives no rate without penetration or rotation', () => {
    expect(penetrationRate(0, 6)).toBe(0);
    expect(penetrationRate(8, 0)).toBe(0);
  });

  // Computed by hand from the definition.
  it('gives 2.880 m/h at 8 mm/rev and 6 rpm, 3.420 m/h at 5 and 11.4', () => {
    expect(penetrationRate(8, 6)).toBeCloseTo(2.88, 10);
    expect(penetrationRate(5, 11.4)).toBeCloseTo(3.42, 10);
  });

  it('refuses negative readings and what is not a number', () => {
    expect(() => penetrationRate(-8, 6)).toThrow(/penetrationMmPerRev is -8/);
    expect(() => penetrationRate(8, NaN)).toThrow(/rotationRpm is NaN/);
    expect(() => penetrationRate(1e200, 1e200)).toThrow(/penetration rate is Infinity/);
  });
});

describe('thrustPerDisc', () => {
  it('is 0 when friction takes all the thrust, and all of it on one disc', () => {
    expect(thrustPerDisc(1000, 1000, 50)).toBe(0);
    expect(thrustPerDisc(1000, 0, 1)).toBe(1000);
  });

  // Computed by hand: (12 000 − 800) / 40.
  it('is 280 kN at 12 000 kN, 800 kN friction and 40 discs', () => {
    expect(thrustPerDisc(12_000, 800, 40)).toBe(280);
  });

  it('refuses friction above the thrust, and a head without whole discs', () => {
    expect(() => thrustPerDisc(500, 800, 40)).toThrow(
      new RangeError('frictionKn is 800; it must not exceed totalThrustKn, 500.'),
    );
    expect(() => thrustPerDisc(500, -1, 40)).toThrow(RangeError);
    expect(() => thrustPerDisc(500, 0, 0)).toThrow(RangeError);
    expect(() => thrustPerDisc(500, 0, 40.5)).toThrow(RangeError);
  });
});

describe('cutterheadPower and faceArea', () => {
  it('give no power without torque or rotation', () => {
    expect(cutterheadPower(0, 6)).toBe(0);
    expect(cutterheadPower(1500, 0)).toBe(0);
  });

  // One turn a second of 1 kNm is 2π kW; computed by hand.
  it('give 2π kW for 1 kNm at 60 rpm, 1790.71 kW for 1500 kNm at 11.4 rpm', () => {
    expect(cutterheadPower(1, 60)).toBeCloseTo(6.283185307, 9);
    expect(cutterheadPower(1500, 11.4)).toBeCloseTo(1790.71, 2);
  });

  // Computed by hand; 402 124 m³ over 8000 m at 8 m stand against 402 000 published (Gokceoglu 2021, SN Appl. Sci.).
  it('give 40.7150 m² at 7.2 m, and the volume published for a bored tunnel of 8 m', () => {
    expect(faceArea(7.2)).toBeCloseTo(40.715, 4);
    expect(faceArea(8) * 8000).toBeCloseTo(402_124, -1);
  });

  it('refuse a diameter of 0 and readings that are not numbers', () => {
    expect(() => faceArea(0)).toThrow(/boredDiameterM is 0/);
    expect(() => faceArea(1e200)).toThrow(/face area is Infinity/);
    expect(() => cutterheadPower(-1, 6)).toThrow(RangeError);
    expect(() => cutterheadPower(1, Infinity)).toThrow(RangeError);
  });
});

describe('indices of penetration', () => {
  it('are 0 without thrust, torque or penetration', () => {
    expect(fieldPenetrationIndex(0, 8)).toBe(0);
    expect(torquePenetrationIndex(0, 8)).toBe(0);
  });

  // Computed by hand from the definitions.
  it.each([
    [12_000, 46, 8, 2000, 32.609, 250],
    [15_000, 62, 5, 2500, 48.387, 500],
  ])('thrust %d kN on %d discs, %d mm/rev, %d kNm: FPI and TPI', (thrust, discs, p, torque, fpi, tpi) => {
    expect(fieldPenetrationIndex(thrustPerDisc(thrust, 0, discs), p)).toBeCloseTo(fpi, 3);
    expect(torquePenetrationIndex(torque, p)).toBeCloseTo(tpi, 10);
  });

  // Computed by hand from the means of the tables of Erharter et al., doi 10.1007/s00603-025-04542-4.
  it.each([
    ['A', 10_406.23, 50, 9.6167, 6, 21.642, 3.462],
    ['B', 20_631.32, 70, 7.0668, 5, 41.707, 2.12],
    ['C', 18_967.92, 60, 7.5556, 5, 41.841, 2.2667],
  ])(
    'published machine %s: FPI and rate of the mean stroke',
    (_machine, thrust, discs, p, rpm, fpi, rate) => {
      expect(fieldPenetrationIndex(thrustPerDisc(thrust, 0, discs), p)).toBeCloseTo(fpi, 3);
      expect(penetrationRate(p, rpm)).toBeCloseTo(rate, 4);
    },
  );

  it('refuse to divide by no penetration, and negative readings', () => {
    expect(() => fieldPenetrationIndex(250, 0)).toThrow(/penetrationMmPerRev is 0/);
    expect(() => torquePenetrationIndex(2000, 0)).toThrow(/penetrationMmPerRev is 0/);
    expect(() => fieldPenetrationIndex(250, Number.MIN_VALUE)).toThrow(/field penetration index is Infinity/);
    expect(() => fieldPenetrationIndex(-1, 8)).toThrow(/thrustPerDiscKn is -1/);
    expect(() => torquePenetrationIndex(-1, 8)).toThrow(/torqueKnm is -1/);
  });
});

describe('boringRate', () => {
  it('is length by time: 1.7 m in 50 minutes are 2.04 m/h, and a metre per minute is impossible', () => {
    expect(boringRate(1700, 50 * 60_000)).toBeCloseTo(2.04, 12);
    expect(boringRate(1000, 60_000)).toBe(IMPOSSIBLE_RATE_M_PER_H);
    expect(() => boringRate(1700, 0)).toThrow(/boringMs is 0/);
  });
});
