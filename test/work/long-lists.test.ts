import fc from 'fast-check';
import { JsonRows } from '../../src/common/database/json-rows.js';
import { runs } from '../harness/sizes.js';

// Rows as written by PostgreSQL, read in groups: the same as when read at once.

/** As json_agg writes them: one line per element. */
const listOf = (elements: unknown[]): string =>
  `[${elements.map((each) => JSON.stringify(each)).join(', \n ')}]`;

const read = async (text: string): Promise<{ groups: number; rows: unknown[] }> => {
  const found: unknown[][] = [];
  for await (const group of new JsonRows<unknown>(text).groups()) found.push(group);
  return { groups: found.length, rows: found.flat() };
};

describe('a long list', () => {
  it('is the same, whatever its elements contain', async () => {
    const value = fc.jsonValue({ maxDepth: 3 });
    await fc.assert(
      fc.asyncProperty(
        fc.array(value, { maxLength: 20 }),
        fc.array(value, { maxLength: 3 }),
        async (some, seldom) => {
          // enough of them for groups to end in all places
          const elements = Array.from({ length: 4000 }, (_, index) =>
            index % 7 === 0 ? { some, text: '],"{\\' } : (seldom[index % 3] ?? `,"${index}\\`),
          );
          const text = listOf(elements);
          expect((await read(text)).rows).toEqual(JSON.parse(text));
          expect(await new JsonRows<unknown>(text).rowsInTurns()).toEqual(JSON.parse(text));
        },
      ),
      runs(5, 100),
    );
  });

  it.each([[[]], [[1]], [['x'.repeat(200_000), { a: ['y'.repeat(200_000)] }]]])(
    'of few elements too (%#)',
    async (elements) => {
      expect((await read(listOf(elements))).rows).toEqual(elements);
    },
  );

  it('is read in groups, between which the event loop is left to others', async () => {
    const rows = Array.from({ length: 100_000 }, (_, index) => ({ index, nested: [{ of: index }] }));
    const text = listOf(rows);
    let turns = 0;
    let isOver = false;
    const other = (): void => void (isOver || ((turns += 1), setImmediate(other)));
    setImmediate(other);
    const { groups, rows: found } = await read(text);
    isOver = true;
    expect(JSON.stringify(found)).toBe(JSON.stringify(rows));
    expect(groups).toBeGreaterThan(50);
    expect(turns).toBeGreaterThan(1); // a turn is over after 8 ms, and reading them takes far longer
  });
});
