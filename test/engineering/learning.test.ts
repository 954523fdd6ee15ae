import fc from 'fast-check';
import { learnedTime, learningExponent } from '../../src/engineering/learning.js';

describe('learningExponent', () => {
  it('is 0 where nothing is learned, and −1 where twice the number takes half the time', () => {
    expect(learningExponent(1)).toBe(0);
    expect(learningExponent(0.5)).toBe(-1);
  });

  it('is −0.15200 for a rate of 0.90', () => {
    // By hand: ln 0.9 / ln 2 = −0.1053605 / 0.6931472.
    expect(learningExponent(0.9)).toBeCloseTo(-0.152, 5);
  });

  it.each([0, -0.1, 1.01, NaN, Infinity])('refuses a rate of %p', (rate) => {
    expect(() => learningExponent(rate)).toThrow(/learningRate/);
  });
});

describe('learnedTime', () => {
  it('is 0.7290 of the first for the eighth unit at a rate of 0.90', () => {
    // By hand: the number doubles three times, 0.9³.
    expect(learnedTime(1, 8, learningExponent(0.9))).toBeCloseTo(0.729, 12);
  });

  it('falls by the rate each time the number doubles', () => {
    const rate = fc.double({ min: 0.5, max: 1, noNaN: true });
    fc.assert(
      fc.property(rate, fc.integer({ min: 1, max: 1000 }), (r, n) => {
        const time = (unit: number): number => learnedTime(10, unit, learningExponent(r));
        expect(time(2 * n) / time(n)).toBeCloseTo(r, 10);
      }),
    );
  });

  it('stays that of the first where nothing is learned', () => {
    expect(learnedTime(7, 5, 0)).toBe(7);
  });

  it.each([
    [0, 1, -0.1, /firstTime/],
    [1, 0, -0.1, /unit/],
    [1, 1.5, -0.1, /unit/],
    [1, 1, 0.1, /exponent/],
    [1, 1, NaN, /exponent/],
  ])('refuses %p, %p, %p', (first, unit, exponent, message) => {
    expect(() => learnedTime(first, unit, exponent)).toThrow(message);
  });
});
