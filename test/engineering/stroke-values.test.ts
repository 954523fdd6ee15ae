import fc from 'fast-check';
import {
  boringValues,
  type BoringMachine,
  type MeasuredBoring,
} from '../../src/engineering/stroke-values.js';

const machine: BoringMachine = {
  discCount: 50,
  discRadiusMm: 241.3,
  boredDiameterM: 7,
  frictionKn: null,
  idleTorqueKnm: 180,
  torqueRatioLower: 0.35,
  torqueRatioUpper: 0.57,
};

// First stroke of the published table of machine A: Erharter et al., MIT licence, doi 10.1007/s00603-025-04542-4.
const measured: MeasuredBoring = {
  thrustKn: 10_360.8198127451,
  torqueKnm: 1665.715616246498,
  rotationRpm: 6,
  penetrationMmPerRev: 9.809251050420169,
};

const nothing = {
  penetrationRateMPerH: null,
  powerKw: null,
  torquePenetrationIndex: null,
  thrustPerDiscKn: null,
  fieldPenetrationIndex: null,
  specificEnergyMjPerM3: null,
  theoreticalTorqueKnm: null,
  torqueRatio: null,
  regularAdvance: null,
};

const absent = { thrustKn: null, torqueKnm: null, rotationRpm: null, penetrationMmPerRev: null };

const namesOfNulls = (values: object): string[] =>
  Object.entries(values).flatMap(([name, value]) => (value === null ? [name] : []));

describe('boringValues', () => {
  it('is all null when nothing was read', () => {
    expect(boringValues(absent, machine)).toEqual(nothing);
  });

  // Theoretical torque and ratio as published; the other figures computed by hand from the published readings.
  it('gives the published torque ratio and the hand-computed figures for a full reading', () => {
    const values = boringValues(measured, machine);
    expect(values.theoreticalTorqueKnm).toBeCloseTo(3313.984580381505, 8);
    expect(values.torqueRatio).toBeCloseTo(0.5026322772011032, 12);
    expect(values.regularAdvance).toBe(true);
    expect(values.thrustPerDiscKn).toBeCloseTo(207.2164, 4);
    expect(values.penetrationRateMPerH).toBeCloseTo(3.53133, 5);
    expect(values.fieldPenetrationIndex).toBeCloseTo(21.1246, 4);
    expect(values.specificEnergyMjPerM3).toBeCloseTo(27.9934, 4);
    // 2π·6·1665.7156/60 kW; 1665.7156/9.809251.
    expect(values.powerKw).toBeCloseTo(1046.6, 1);
    expect(values.torquePenetrationIndex).toBeCloseTo(169.811, 3);
  });

  it.each<[keyof MeasuredBoring, string[]]>([
    ['rotationRpm', ['penetrationRateMPerH', 'powerKw']],
    [
      'torqueKnm',
      ['powerKw', 'torquePenetrationIndex', 'specificEnergyMjPerM3', 'torqueRatio', 'regularAdvance'],
    ],
    [
      'thrustKn',
      [
        'thrustPerDiscKn',
        'fieldPenetrationIndex',
        'specificEnergyMjPerM3',
        'theoreticalTorqueKnm',
        'torqueRatio',
        'regularAdvance',
      ],
    ],
  ])('without %s, has null only for what needs it', (name, nulls) => {
    expect(namesOfNulls(boringValues({ ...measured, [name]: null }, machine))).toEqual(nulls);
  });

  it('without penetration read, keeps the thrust per disc and the power only', () => {
    const values = boringValues({ ...measured, penetrationMmPerRev: null }, machine);
    const { thrustPerDiscKn, powerKw } = values;
    expect(values).toEqual({ ...nothing, thrustPerDiscKn, powerKw });
    expect(powerKw).toBeCloseTo(1046.6, 1);
    expect(values.thrustPerDiscKn).toBeCloseTo(207.2164, 4);
  });

  it('at zero penetration, keeps the rate, 0, the thrust per disc and the power', () => {
    const values = boringValues({ ...measured, penetrationMmPerRev: 0 }, machine);
    expect(values).toEqual({
      ...nothing,
      penetrationRateMPerH: 0,
      thrustPerDiscKn: values.thrustPerDiscKn,
      powerKw: values.powerKw,
    });
    expect(values.powerKw).toBeCloseTo(1046.6, 1);
  });

  it('without idle torque, has no torque ratio; without a bound, no class', () => {
    const unknownIdle = boringValues(measured, { ...machine, idleTorqueKnm: null });
    expect(namesOfNulls(unknownIdle)).toEqual(['theoreticalTorqueKnm', 'torqueRatio', 'regularAdvance']);
    const noLower = boringValues(measured, { ...machine, torqueRatioLower: null });
    expect(namesOfNulls(noLower)).toEqual(['regularAdvance']);
    const noUpper = boringValues(measured, { ...machine, torqueRatioUpper: null });
    expect(namesOfNulls(noUpper)).toEqual(['regularAdvance']);
  });

  // Computed by hand: (10 360.8198 − 360.8198) / 50 = 200 kN.
  it('takes friction off the thrust per disc and FPI, not off the energy and the torque ratio', () => {
    const free = boringValues(measured, machine);
    const rubbing = boringValues(measured, { ...machine, frictionKn: 360.8198127451 });
    expect(rubbing.thrustPerDiscKn).toBeCloseTo(200, 9);
    expect(rubbing.fieldPenetrationIndex).toBeCloseTo(20.38892, 5);
    expect(rubbing.specificEnergyMjPerM3).toBe(free.specificEnergyMjPerM3);
    expect(rubbing.torqueRatio).toBe(free.torqueRatio);
  });

  it('has no thrust per disc and no FPI when friction is above the thrust', () => {
    const values = boringValues({ ...measured, thrustKn: 500 }, { ...machine, frictionKn: 800 });
    expect(namesOfNulls(values)).toEqual(['thrustPerDiscKn', 'fieldPenetrationIndex']);
  });

  it('has no ratio when the theoretical torque is 0', () => {
    const values = boringValues({ ...measured, thrustKn: 0 }, { ...machine, idleTorqueKnm: 0 });
    expect(values.theoreticalTorqueKnm).toBe(0);
    expect(namesOfNulls(values)).toEqual(['torqueRatio', 'regularAdvance']);
  });

  it('gives each value as a finite number or null for any valid reading', () => {
    const maybe = (max: number) => fc.option(fc.double({ min: 0, max, noNaN: true }));
    const readings = fc.record({
      thrustKn: maybe(50_000),
      torqueKnm: maybe(15_000),
      rotationRpm: maybe(15),
      penetrationMmPerRev: fc.option(
        fc.integer({ min: 0, max: 40_000 }).map((micrometres) => micrometres / 1000),
      ),
    });
    fc.assert(
      fc.property(readings, maybe(2_000), (reading, frictionKn) => {
        const { regularAdvance, ...figures } = boringValues(reading, { ...machine, frictionKn });
        expect([true, false, null]).toContain(regularAdvance);
        for (const figure of Object.values(figures))
          expect(figure === null || Number.isFinite(figure)).toBe(true);
      }),
    );
  });

  it.each([
    [{ thrustKn: -1 }, {}],
    [{ rotationRpm: NaN }, {}],
    [{ penetrationMmPerRev: 482.6 }, {}],
    [{}, { discCount: 0 }],
    [{}, { discCount: 49.5 }],
    [{}, { discRadiusMm: 0 }],
    [{}, { boredDiameterM: Infinity }],
    [{}, { frictionKn: -1 }],
    [{}, { torqueRatioLower: 0.6 }],
    [{}, { torqueRatioUpper: -1 }],
  ])('refuses %p with %p', (reading, property) => {
    expect(() => boringValues({ ...measured, ...reading }, { ...machine, ...property })).toThrow(RangeError);
  });

  it('refuses a bad figure even where no value needs it', () => {
    expect(() => boringValues({ ...absent, torqueKnm: -1 }, machine)).toThrow(/torqueKnm is -1/);
    expect(() => boringValues(absent, { ...machine, discRadiusMm: 0 })).toThrow(/discRadiusMm is 0/);
    expect(() => boringValues(absent, { ...machine, discCount: 49.5 })).toThrow(/discCount is 49\.5/);
  });
});
