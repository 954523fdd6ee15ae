import { unknownCode } from '../../src/common/unknown-code.js';

describe('an unknown code is refused with those that the project has', () => {
  const codes = (count: number): string[] =>
    Array.from({ length: count }, (_, index) => `C${String(index + 1).padStart(3, '0')}`).reverse();

  it('in order, whether listed or the names of an object', () => {
    const detail = 'zone L9 is not in the project: its zones are L1, L2';
    expect(unknownCode('zone', 'L9', ['L2', 'L1'])).toBe(detail);
    expect(unknownCode('zone', 'L9', { L2: 1, L1: 2 })).toBe(detail);
  });

  it('or says that there are none', () => {
    expect(unknownCode('equipment', 'LIFT', {})).toBe('equipment LIFT is not in the project: it has none');
  });

  it('up to the first twenty', () => {
    const named = codes(20).toSorted().join(', ');
    expect(unknownCode('machine', 'M', codes(20))).toBe(
      `machine M is not in the project: its machines are ${named}`,
    );
    expect(unknownCode('machine', 'M', codes(23))).toBe(
      `machine M is not in the project: its machines are ${named} and 3 more`,
    );
  });
});
