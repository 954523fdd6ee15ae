import { amountOf, decimalsOf, plainDecimal } from '../../src/engineering/amount.js';

// By hand.

describe('an amount', () => {
  it.each([
    ['10', '2.5', 2, '25.00', 'whole'],
    ['10.5', '2.25', 2, '23.63', '23.625, a tie, away from zero; to the even digit it would be 23.62'],
    ['0.5', '0.01', 2, '0.01', '0.005, a tie'],
    ['0.499999', '0.01', 2, '0.00', '0.00499999, below it'],
    ['-10.5', '2.25', 2, '-23.63', 'a tie below zero, away from it'],
    ['1.005', '1', 2, '1.01', 'in binary 1.005 lies below the tie, and would give 1.00'],
    ['3', '0.5', 0, '2', '1.5 of a currency without minor units'],
    ['7', '0.3335', 3, '2.335', '2.3345, a tie, of one with three decimals'],
    [
      '999999999999.999999',
      '999999999999.999999',
      2,
      '999999999999999998000000.00',
      '(10¹² − 10⁻⁶)² = 10²⁴ − 2·10⁶ + 10⁻¹²',
    ],
    ['0', '88.2', 2, '0.00', 'a rate alone'],
    ['2', '3', 4, '6.0000', 'padded'],
  ])('of %s at %s to %s decimals is %s: %s', (quantity, rate, minorUnits, amount) => {
    expect(amountOf(quantity, rate, minorUnits)).toBe(amount);
  });

  it.each(['', '1,5', '1e3', '.5', '5.', 'NaN', ' 1'])('is refused for "%s"', (text) => {
    expect(() => amountOf(text, '1', 2)).toThrow(RangeError);
    expect(() => amountOf('1', text, 2)).toThrow(RangeError);
  });
});

it.each([
  ['007.50', '7.5', 1],
  ['-0.0', '0', 0],
  ['100', '100', 0],
  ['100.00', '100', 0],
  ['-1.250', '-1.25', 2],
  ['0.000001', '0.000001', 6],
])('%s is plainly %s, with %s decimals', (text, plain, decimals) => {
  expect([plainDecimal(text), decimalsOf(text)]).toEqual([plain, decimals]);
});
