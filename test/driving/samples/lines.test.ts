import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { cellsOf } from '../../../src/features/driving/samples/csv-line.js';
import { type Line, linesOf } from '../../../src/features/driving/samples/sample-lines.js';

// Expected: split by the language itself, and csv-parse as a second reader of quoted cells.

const read = async (pieces: Buffer[], limitBytes?: number): Promise<Line[]> => {
  const lines: Line[] = [];
  const stream = (async function* () {
    yield* pieces;
  })();
  for await (const some of linesOf(stream, limitBytes)) lines.push(...some);
  return lines;
};

const cut = (bytes: Buffer, lengths: number[]): Buffer[] => {
  const pieces: Buffer[] = [];
  let start = 0;
  for (const length of lengths) {
    pieces.push(bytes.subarray(start, start + length));
    start += length;
  }
  return [...pieces, bytes.subarray(start)];
};

describe('the lines of an upload', () => {
  it('are those of the text, in whatever pieces it arrives', async () => {
    const line = fc.string({ unit: fc.constantFrom('a', ',', '"', 'ü', '√', '𝄞', ' '), maxLength: 12 });
    const lengths = fc.array(fc.integer({ min: 0, max: 7 }), { maxLength: 40 });
    await fc.assert(
      fc.asyncProperty(fc.array(line), fc.constantFrom('\n', '\r\n'), lengths, async (lines, end, sizes) => {
        const text = lines.join(end);
        const expected = text === '' ? [] : text.split(end);
        if (expected.at(-1) === '') expected.pop(); // the last line end ends the last line
        expect(await read(cut(Buffer.from(text), sizes))).toEqual(
          expected.map((own, index) => ({ number: index + 1, text: own })),
        );
      }),
      { numRuns: 200 },
    );
  });

  it('report one that is too long or not UTF-8, and read the next, in whatever pieces', async () => {
    const long = 'x'.repeat(64 * 1024 + 1);
    const bytes = Buffer.concat([
      Buffer.from(`a\n${long}\nb\n`),
      Buffer.from([0xc3, 0x0a]),
      Buffer.from(`c\n${long}`),
    ]);
    const expected = [
      { number: 1, text: 'a' },
      { number: 2, fault: 'the line is longer than 64 KB' },
      { number: 3, text: 'b' },
      { number: 4, fault: 'the line is not UTF-8' },
      { number: 5, text: 'c' },
      { number: 6, fault: 'the line is longer than 64 KB' },
    ];
    for (const size of [1000, 65_536, 1_000_000])
      expect(await read(cut(bytes, Array<number>(Math.ceil(bytes.length / size)).fill(size)))).toEqual(
        expected,
      );
  });

  it('end with an error beyond the limit', async () => {
    expect(await read([Buffer.from('abc\n'), Buffer.from('def\n')], 8)).toHaveLength(2);
    await expect(read([Buffer.from('abc\n'), Buffer.from('def\n')], 7)).rejects.toMatchObject({
      code: 'too_large',
    });
  });
});

describe('the cells of a line', () => {
  it('agree with another reader', () => {
    const cell = fc.string({ unit: fc.constantFrom('a', ';', '"', ' ', 'ü'), maxLength: 5 });
    const quoted = (text: string): string => `"${text.replaceAll('"', '""')}"`;
    const written = cell.map((text) => (/[";]/.test(text) ? quoted(text) : text));
    const row = fc
      .array(fc.oneof(written, cell.map(quoted)), { minLength: 1, maxLength: 6 })
      .filter((cells) => cells.join('') !== '');
    fc.assert(
      fc.property(row, (cells) => {
        const line = cells.join(';');
        expect(cellsOf(line, ';', 100)).toEqual((parse(line, { delimiter: ';' }) as string[][])[0]);
      }),
      { numRuns: 500 },
    );
  });
});
