import fc from 'fast-check';
import { axialReach, radialSpread } from '../../src/engineering/probe-hole.js';
import { sectionPosition } from './oracles/section-position.js';

describe('axialReach and radialSpread', () => {
  it('are the length and 0 for a hole along the axis, and 0 for no hole', () => {
    expect(axialReach(30, 0)).toBe(30);
    expect(radialSpread(30, 0)).toBe(0);
    expect(axialReach(0, 5)).toBe(0);
    expect(radialSpread(0, 5)).toBe(0);
  });

  it('are half and √3/2 of the length at 60°', () => {
    expect(axialReach(10, 60)).toBeCloseTo(5, 12);
    expect(radialSpread(10, 60)).toBeCloseTo(8.660254, 6);
  });

  // Computed by hand from the definition.
  it.each([
    [30, 5, 29.8858, 2.6147],
    [40, 7, 39.7018, 4.8748],
    [24, 4, 23.9415, 1.6742],
  ])('a hole of %d m at %d° reaches %f m and spreads %f m', (length, lookOut, reach, spread) => {
    expect(axialReach(length, lookOut)).toBeCloseTo(reach, 4);
    expect(radialSpread(length, lookOut)).toBeCloseTo(spread, 4);
  });

  it('are the sides of a right triangle over the hole', () => {
    const length = fc.double({ min: 1, max: 500, noNaN: true });
    const lookOut = fc.double({ min: 0, max: 89.9, noNaN: true });
    fc.assert(
      fc.property(length, lookOut, (l, deg) => {
        expect(Math.hypot(axialReach(l, deg), radialSpread(l, deg)) / l).toBeCloseTo(1, 12);
      }),
    );
  });

  it.each([-0.1, 90, 180, NaN])('refuse a look-out of %p°', (lookOut) => {
    expect(() => axialReach(30, lookOut)).toThrow(/lookOutDeg/);
    expect(() => radialSpread(30, lookOut)).toThrow(/lookOutDeg/);
  });

  it.each([-1, NaN, Infinity])('refuse a length of %p m', (length) => {
    expect(() => axialReach(length, 5)).toThrow(/lengthM/);
    expect(() => radialSpread(length, 5)).toThrow(/lengthM/);
  });
});

describe('sectionPosition', () => {
  it('is the collar at the collar', () => {
    expect(sectionPosition(3.5, { positionDeg: 120, lookOutDeg: 7 }, 0)).toEqual({
      radiusM: expect.closeTo(3.5, 9),
      clockDeg: expect.closeTo(120, 9),
    });
  });

  // The spread at the end of the hole is L · sin θ, at its axial reach L · cos θ: 30 m at 5°, 2.6147 m over 29.8858 m.
  it('goes outward at its clock position where it looks out radially', () => {
    expect(sectionPosition(3.5, { positionDeg: 240, lookOutDeg: 5 }, 29.8858)).toEqual({
      radiusM: expect.closeTo(3.5 + 2.6147, 3),
      clockDeg: expect.closeTo(240, 9),
    });
  });

  // From the crown at 3 m, 4 m to the right: 3-4-5. At 45° the spread equals the distance ahead.
  it('moves round the section where it looks out sideways', () => {
    expect(sectionPosition(3, { positionDeg: 0, lookOutDeg: 45, azimuthDeg: 90 }, 4)).toEqual({
      radiusM: expect.closeTo(5, 9),
      clockDeg: expect.closeTo((Math.atan(4 / 3) * 180) / Math.PI, 9),
    });
    expect(sectionPosition(3, { positionDeg: 0, lookOutDeg: 45, azimuthDeg: 270 }, 4).clockDeg).toBeCloseTo(
      360 - 53.1301,
      4,
    );
  });

  it('crosses the axis where it looks inward', () => {
    expect(sectionPosition(3, { positionDeg: 0, lookOutDeg: 45, azimuthDeg: 180 }, 5)).toEqual({
      radiusM: expect.closeTo(2, 9),
      clockDeg: expect.closeTo(180, 9),
    });
  });

  it('refuses a section behind the collar', () => {
    expect(() => sectionPosition(3, { positionDeg: 0, lookOutDeg: 5 }, -1)).toThrow(/aheadM/);
  });
});
