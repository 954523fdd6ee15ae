import fc from 'fast-check';
import { cutterheadPower, faceArea, penetrationRate } from '../../src/engineering/boring.js';
import {
  specificEnergy,
  specificEnergyOfRotation,
  specificEnergyOfThrust,
} from '../../src/engineering/specific-energy.js';

const reading = fc.double({ min: 0.1, max: 30_000, noNaN: true });

describe('specificEnergy', () => {
  it('has no thrust part without thrust and no rotation part without torque', () => {
    expect(specificEnergyOfThrust(0, 40)).toBe(0);
    expect(specificEnergyOfRotation(0, 8, 40)).toBe(0);
    expect(specificEnergy(40_000, 0, 8, 40)).toBe(1);
  });

  // Computed by hand from the formula of Teale 1965, which is from memory.
  it.each([
    [12_000, 2000, 8, 7.2, 0.2947, 38.5802, 38.875, 10.799],
    [15_000, 2500, 5, 9.43, 0.2148, 44.9818, 45.197, 12.555],
  ])(
    '%d kN, %d kNm, %d mm/rev, %f m: parts, sum and kWh',
    (thrust, torque, p, diameter, push, turn, sum, kWh) => {
      const area = faceArea(diameter);
      expect(specificEnergyOfThrust(thrust, area)).toBeCloseTo(push, 4);
      expect(specificEnergyOfRotation(torque, p, area)).toBeCloseTo(turn, 4);
      expect(specificEnergy(thrust, torque, p, area)).toBeCloseTo(sum, 3);
      expect(specificEnergy(thrust, torque, p, area) / 3.6).toBeCloseTo(kWh, 3);
    },
  );

  // Computed by hand from the means of the tables of Erharter et al., doi 10.1007/s00603-025-04542-4.
  it.each([
    ['A', 10_406.23, 1651.75, 9.6167, 7, 28.313],
    ['B', 20_631.32, 4090.49, 7.0668, 10, 46.569],
    ['C', 18_967.92, 3846.11, 7.5556, 9, 50.574],
  ])('published machine %s: the mean stroke', (_machine, thrust, torque, p, diameter, energy) => {
    expect(specificEnergy(thrust, torque, p, faceArea(diameter))).toBeCloseTo(energy, 3);
  });

  // Conservation of energy: the work of the head in an hour equals that spent on the volume of that hour.
  it('times the volume of an hour is the work of the turning head in that hour', () => {
    const diameter = fc.double({ min: 3, max: 15, noNaN: true });
    fc.assert(
      fc.property(reading, reading, reading, diameter, (torque, p, rpm, d) => {
        const volumeM3PerH = faceArea(d) * penetrationRate(p, rpm);
        const workMjPerH = (cutterheadPower(torque, rpm) * 3600) / 1000;
        expect((specificEnergyOfRotation(torque, p, faceArea(d)) * volumeM3PerH) / workMjPerH).toBeCloseTo(
          1,
          10,
        );
      }),
    );
  });

  it('refuses zero penetration, zero area and negative readings', () => {
    expect(() => specificEnergy(12_000, 2000, 0, 40)).toThrow(/penetrationMmPerRev is 0/);
    expect(() => specificEnergy(12_000, 2000, 8, 0)).toThrow(/faceAreaM2 is 0/);
    expect(() => specificEnergy(-1, 2000, 8, 40)).toThrow(/thrustKn is -1/);
    expect(() => specificEnergy(12_000, NaN, 8, 40)).toThrow(/torqueKnm is NaN/);
    expect(() => specificEnergyOfRotation(-1, 8, 40)).toThrow(/torqueKnm is -1/);
    expect(() => specificEnergyOfThrust(12_000, 0)).toThrow(/faceAreaM2 is 0/);
    expect(() => specificEnergyOfRotation(1, Number.MIN_VALUE, 1)).toThrow(/is Infinity/);
  });
});
