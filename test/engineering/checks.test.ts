import {
  finiteResult,
  requireAboveZero,
  requireCount,
  requireFinite,
  requireZeroOrMore,
} from '../../src/engineering/checks.js';

const notFinite = [NaN, Infinity, -Infinity];

describe('checks of figures', () => {
  it('name the parameter, its value and the rule', () => {
    expect(() => requireZeroOrMore({ rotationRpm: -1 })).toThrow(
      new RangeError('rotationRpm is -1; it must be a finite number, 0 or more.'),
    );
  });

  it('check every figure, not only the first', () => {
    expect(() => requireAboveZero({ lengthM: 1, widthM: 0 })).toThrow(/^widthM is 0; .* above 0\.$/);
  });

  it.each(notFinite)('refuse %p everywhere', (figure) => {
    for (const check of [requireFinite, requireZeroOrMore, requireAboveZero, requireCount]) {
      expect(() => check({ figure })).toThrow(RangeError);
    }
    expect(() => finiteResult('figure', figure)).toThrow(RangeError);
  });

  it('apply each limit exactly', () => {
    expect(() => requireFinite({ figure: -1 })).not.toThrow();
    expect(() => requireZeroOrMore({ figure: 0 })).not.toThrow();
    expect(() => requireAboveZero({ figure: Number.MIN_VALUE })).not.toThrow();
    expect(() => requireAboveZero({ figure: 0 })).toThrow(RangeError);
    expect(() => requireCount({ figure: 1 })).not.toThrow();
    expect(() => requireCount({ figure: 0 })).toThrow(RangeError);
    expect(() => requireCount({ figure: 1.5 })).toThrow(RangeError);
  });

  it('return a valid result', () => {
    expect(finiteResult('figure', 2.5)).toBe(2.5);
  });
});
