import { chosen } from '../../src/engineering/rating-tables/choose.js';
import { RATING_EDITIONS, qEdition, rmrEdition } from '../../src/engineering/rating-tables/editions.js';
import { Q_1974 } from '../../src/engineering/rating-tables/q-1974.js';
import { Q_2013 } from '../../src/engineering/rating-tables/q-2013.js';
import type { RatingTable } from '../../src/engineering/rating-tables/tables.js';

// The values of each row, typed a second time from the transcriptions (marks: docs/calculations.md).

const values = ({ rows }: RatingTable): string =>
  rows.map(({ row, min, max }) => `${row} ${min === max ? min : `${min}-${max}`}`).join(', ');

describe('the tables of Q', () => {
  const JN = 'A 0.5-1, B 2, C 3, D 4, E 6, F 9, G 12, H 15, J 20';
  const JR = 'A 4, B 3, C 2, D 1.5, E 1.5, F 1, G 0.5, H 1, J 1';
  const JA = 'A 0.75, B 1, C 2, D 3, E 4, F 4, G 6, H 8, J 8-12, K 6, L 8, M 8-12';
  const JW = 'A 1, B 0.66, C 0.5, D 0.33, E 0.1-0.2, F 0.05-0.1';

  it('of 2013', () => {
    const { jn, jr, ja, jw, srf, esr } = Q_2013.tables;
    expect([jn, jr, ja, jw].map(values)).toEqual([JN, JR, `${JA}, N 10, O 13, P 13-20`, JW]);
    expect(values(srf)).toBe(
      'A 10, B 7.5, C 5, D 5, E 2.5, F 2.5, G 1, H 0.5-2, H-unfavourable 2-5, J 5-50, K 50-200, L 200-400, M 5-10, N 10-20, O 5-10, P 10-15',
    );
    expect(esr && values(esr)).toBe(
      'A 3-5, B-circular 2.5, B-rectangular 2, C 1.6, D 1.3, E 1, F 0.8, G 0.5',
    );
  });

  it('of 1974', () => {
    const { jn, jr, ja, jw, srf } = Q_1974.tables;
    expect([jn, jr, ja, jw].map(values)).toEqual([JN, JR, `${JA}, N 5, O 10, P 13, R 13-20`, JW]);
    expect(values(srf)).toBe(
      'A 10, B 5, C 2.5, D 7.5, E 5, F 2.5, G 5, H 2.5, J 1, K 0.5-2, L 5-10, M 10-20, N 5-10, O 10-20, P 5-10, R 10-15',
    );
  });
});

describe('every edition', () => {
  it('names each row once, its bands with rising bounds, and its source and mark', () => {
    for (const { id, source, mark, tables } of RATING_EDITIONS)
      for (const table of Object.values(tables)) {
        const names = table.rows.map(({ row }) => row);
        const bounds = table.rows.flatMap(({ from }) => (from === undefined ? [] : [from]));
        expect([id, table.id, new Set(names).size]).toEqual([id, table.id, names.length]);
        expect([id, table.id, bounds]).toEqual([id, table.id, [...bounds].sort((a, b) => a - b)]);
        expect([source, table.source].every((text) => text.length > 10)).toBe(true);
        expect(['read', 'transcribed', 'memory']).toEqual(expect.arrayContaining([mark, table.mark]));
      }
  });

  it('is found under its system alone', () => {
    expect([
      qEdition('q-1974')?.id,
      qEdition('rmr-1989'),
      rmrEdition('rmr-1989')?.id,
      rmrEdition('q-2013'),
    ]).toEqual(['q-1974', undefined, 'rmr-1989', undefined]);
  });
});

describe('a choice', () => {
  const { ja } = Q_2013.tables;

  it.each([
    [{ row: 'B' }, { value: 1 }],
    [{ row: 'B', value: 1 }, { value: 1 }],
    [{ row: 'J', value: 8 }, { value: 8 }],
    [{ row: 'J', value: 12 }, { value: 12 }],
    [
      { row: 'J', value: 12.1 },
      { at: 'value', fault: 'ja 12.1 does not lie in row J, which runs from 8 to 12' },
    ],
    [{ row: 'J' }, { at: 'value', fault: 'row J of ja runs from 8 to 12: say the value' }],
    [
      { row: 'B', value: 2 },
      { at: 'value', fault: 'ja 2 does not lie in row B, which is 1' },
    ],
    [{ row: 'Z' }, { at: 'row', fault: expect.stringMatching(/^ja has no row Z: its rows are A, B, C,/) }],
  ])('%j', (choice, expected) => {
    expect(chosen(ja, choice)).toEqual(expected);
  });
});
