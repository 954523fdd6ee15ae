import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { csvOf, readText, safeText } from '../../src/common/files/csv.js';

// Characters by OWASP, CSV injection: = + - @ tab CR LF, and the full-width forms.

it.each(['=1+1', '+1', '-1', '@SUM(A1)', '\t=1', '\r=1', '\n=1', '＝1', '＋1', '－1', '＠x'])(
  '%j does not begin a formula',
  (text) => {
    const [[cell = '']] = parse(csvOf([], [[{ text }]]), { from: 2, relax_column_count: true }) as [[string]];
    expect(cell).toBe(`'${text}`);
    expect(readText(cell)).toBe(text);
  },
);

it.each(["it's", "'quoted'", 'a=b', '3 - 4', ''])('%j stays as it is', (text) => {
  expect(safeText(text)).toBe(text);
});

it('any text reads back unchanged', () => {
  const text = fc.string({ unit: fc.constantFrom("'", '=', '+', '-', '@', '\t', '"', ',', 'a', '\n', '＝') });
  fc.assert(
    fc.property(fc.array(text, { minLength: 1, maxLength: 4 }), (texts) => {
      const [cells = []] = parse(csvOf(['x'], [texts.map((each) => ({ text: each }))]), {
        from: 2,
        relax_column_count: true,
        record_delimiter: '\r\n',
      }) as string[][];
      expect(cells.map(readText)).toEqual(texts);
      for (const cell of cells) expect(cell).not.toMatch(/^[=+\-@\t\r\n＝]/);
    }),
    { numRuns: 200 },
  );
});

it('numbers stay numbers, and lines end with CR LF', () => {
  expect(csvOf(['a', 'b', 'c'], [[{ number: '-1.50' }, null, { text: 'x "y"' }]])).toBe(
    'a,b,c\r\n-1.50,,"x ""y"""\r\n',
  );
});
