import { canonicalRows, type CellType, type DeclaredForms } from '../../src/common/files/table/canonical.js';
import { readTable, type Table, type TableFile } from '../../src/common/files/table/read-table.js';
import { ProblemError } from '../../src/common/api/problem.js';
import { archive, workbookParts } from './archives.js';

const KIND = { mostRows: 1000, rows: 'rows' };

const read = (file: Buffer | string, declared: Omit<TableFile, 'file'> = {}): Table =>
  readTable({ file: Buffer.from(file), ...declared }, KIND);

const texts = ({ headings, rows }: Table): string[][] => [
  headings,
  ...rows.map(({ cells }) => Array.from(cells, (cell) => cell?.text ?? '')),
];

/** The one column of a table, in the common format. */
const column = (
  type: CellType,
  cells: string[],
  declared: DeclaredForms & { delimiter?: string } = {},
): { values: string[]; faults: (string | undefined)[]; forms: object } => {
  const { delimiter = 'semicolon', ...forms } = declared;
  const rows = cells.map((text, index) => ({
    line: index + 2,
    width: 1,
    cells: [{ kind: 'plain' as const, text }],
  }));
  const found = canonicalRows(rows, [{ name: 'x', type, place: 0 }], forms, { file: 'csv', delimiter });
  const { file, delimiter: written, ...rest } = found.forms;
  expect([file, written]).toEqual(['csv', delimiter]);
  return {
    values: found.rows.map((row) => row.cells[0]?.text ?? ''),
    faults: found.rows.map((row) => row.cells[0]?.fault),
    forms: rest,
  };
};

const refusal = (work: () => unknown): [string | undefined, string | undefined] => {
  try {
    work();
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return [error.faults[0]?.pointer, error.faults[0]?.detail];
  }
  return [undefined, undefined];
};

const TEXT = 'Größe;Tiefe °\nŒ–1;2,5\n';
const utf16be = (text: string): Buffer => Buffer.from(text, 'utf16le').swap16();
/** By the mapping table of Unicode for cp1252: ö F6, ß DF, ° B0, Œ 8C, – 96. */
const CP1252 = Buffer.concat(
  ['Gr', [0xf6, 0xdf], 'e;Tiefe ', [0xb0], '\n', [0x8c, 0x96], '1;2,5\n'].map((part) =>
    Buffer.from(part as string),
  ),
);

describe('the encoding of a CSV', () => {
  it.each<[string, Buffer, string]>([
    ['UTF-8', Buffer.from(TEXT), 'utf-8'],
    ['UTF-8 with a mark', Buffer.from(`\ufeff${TEXT}`), 'utf-8'],
    ['UTF-16 LE with a mark', Buffer.from(`\ufeff${TEXT}`, 'utf16le'), 'utf-16le'],
    ['UTF-16 BE with a mark', utf16be(`\ufeff${TEXT}`), 'utf-16be'],
    ['UTF-16 LE without', Buffer.from(TEXT, 'utf16le'), 'utf-16le'],
    ['UTF-16 BE without', utf16be(TEXT), 'utf-16be'],
    ['windows-1252', CP1252, 'windows-1252'],
  ])('%s is found', (_, file, encoding) => {
    const table = read(file);
    expect(table.forms).toEqual({ file: 'csv', encoding, delimiter: 'semicolon' });
    expect(texts(table)).toEqual([
      ['Größe', 'Tiefe °'],
      ['Œ–1', '2,5'],
    ]);
  });

  it.each<[string, Buffer, string | undefined, string, RegExp]>([
    [
      'another mark',
      Buffer.from(`\ufeff${TEXT}`, 'utf16le'),
      'utf-8',
      '/encoding',
      /byte order mark of utf-16le/,
    ],
    ['an unknown one', Buffer.from(TEXT), 'latin-9', '/encoding', /must be one of utf-8, utf-16le/],
    [
      'bytes that windows-1252 lacks',
      Buffer.from([0x61, 0x0a, 0x81]),
      undefined,
      '/file',
      /neither UTF-8 nor windows-1252, see line 2/,
    ],
    ['half a character', Buffer.from([0xff, 0xfe, 0x61]), undefined, '/file', /odd number of bytes/],
    ['half a pair', Buffer.from([0xff, 0xfe, 0x00, 0xd8]), undefined, '/file', /not utf-16le/],
    ['declared otherwise', CP1252, 'utf-8', '/file', /not UTF-8, from line 1 on/],
  ])('%s is refused', (_, file, encoding, pointer, detail) => {
    expect(refusal(() => read(file, { encoding }))).toEqual([pointer, expect.stringMatching(detail)]);
  });
});

describe('the delimiter of a CSV', () => {
  it.each([
    ['comma', 'a,b\n1,2\n'],
    ['semicolon', 'a;b\n1,5;2,5\n'],
    ['semicolon', 'a;"b, as drawn"\n1;2\n'],
    ['semicolon', 'a, or c;b\n1;2\n3;4\n'],
    ['semicolon', 'a;b;c\n1;1,5;2,5\n2;1,5\n'],
    ['tab', 'a\tb; c\n1\t2\n'],
    ['pipe', 'a|b\n1|2\n'],
    ['comma', 'a\n1\n'],
  ])('%s is found in %j', (delimiter, text) => {
    expect(read(text).forms.delimiter).toBe(delimiter);
  });

  it('is not guessed where two would fit', () => {
    expect(refusal(() => read('a,x;b,y\n1,2;3,4\n'))).toEqual([
      '/delimiter',
      'the columns may be separated by comma or semicolon: declare delimiter',
    ]);
    expect(texts(read('a,x;b,y\n1,2;3,4\n', { delimiter: 'semicolon' }))).toEqual([
      ['a,x', 'b,y'],
      ['1,2', '3,4'],
    ]);
  });
});

it('lines are those of the file, over rows of two lines and blank ones; an apostrophe before a formula is taken away', () => {
  const table = read('a,b\n\n"x\ny","\'=1+1"\n,\n"\'\'=1",z\n');
  expect(table.rows.map(({ line }) => line)).toEqual([3, 6]);
  expect(texts(table).slice(1)).toEqual([
    ['x\ny', '=1+1'],
    ["'=1", 'z'],
  ]);
});

describe('the sign before decimals', () => {
  it.each<[string[], string | undefined, string[]]>([
    [['1,5', '2'], 'comma', ['1.5', '2']],
    [['1.5', '2'], 'point', ['1.5', '2']],
    [['1.234', '2.5'], 'point', ['1.234', '2.5']],
    [['1,234', '0,5'], 'comma', ['1.234', '0.5']],
    [['0,123'], 'comma', ['0.123']],
    [['1234,567'], 'comma', ['1234.567']],
    [['-1,5e3'], 'comma', ['-1.5e3']],
    [['1', '20'], undefined, ['1', '20']],
  ])('%j: %s', (cells, decimal, values) => {
    const found = column('number', cells);
    expect(found).toEqual({ values, faults: cells.map(() => undefined), forms: decimal ? { decimal } : {} });
  });

  it('is a point where commas separate the columns', () => {
    expect(column('number', ['1.234'], { delimiter: 'comma' }).forms).toEqual({ decimal: 'point' });
  });

  it.each([
    [['1,234'], /^"1,234" \(x, line 2\) may have decimals or thousands/],
    [['5', '12.345'], /^"12.345" \(x, line 3\) may have decimals or thousands/],
    [['1,5', '1.5'], /a decimal comma, "1,5" \(x, line 2\), and with a decimal point, "1.5" \(x, line 3\)/],
  ])('is not guessed in %j', (cells, detail) => {
    expect(refusal(() => column('number', cells))).toEqual(['/decimal', expect.stringMatching(detail)]);
  });

  it('as declared; a cell with another is an error', () => {
    expect(column('number', ['1,234'], { decimal: 'comma' }).values).toEqual(['1.234']);
    expect(column('number', ['1.234'], { decimal: 'point' }).values).toEqual(['1.234']);
    const { faults } = column('number', ['1,5', '1.234,5'], {});
    expect(faults).toEqual([
      undefined,
      expect.stringMatching(/^x is "1.234,5"; it must be a number with a decimal comma/),
    ]);
  });
});

describe('dates', () => {
  it.each<[string[], object, string[]]>([
    [['2026-04-03'], { dates: 'ymd' }, ['2026-04-03']],
    [['2026/4/3'], { dates: 'ymd' }, ['2026-04-03']],
    [['03.04.2026'], { dates: 'dmy' }, ['2026-04-03']],
    [['3/4/2026', '13/4/2026'], { dates: 'dmy' }, ['2026-04-03', '2026-04-13']],
    [['3/4/2026', '4/13/2026'], { dates: 'mdy' }, ['2026-03-04', '2026-04-13']],
    [['4-4-2026'], {}, ['2026-04-04']],
    [['2026-04-03 00:00:00'], { dates: 'ymd' }, ['2026-04-03']],
  ])('%j', (cells, forms, values) => {
    expect(column('date', cells)).toEqual({ values, faults: cells.map(() => undefined), forms });
  });

  it('03/04/2026 is not guessed', () => {
    const cells = ['03/04/2026', '05/06/2026'];
    expect(refusal(() => column('date', cells))).toEqual([
      '/dates',
      '"03/04/2026" (x, line 2) may have the day or the month first: declare dates as dmy or mdy',
    ]);
    expect(column('date', cells, { dates: 'mdy' }).values).toEqual(['2026-03-04', '2026-05-06']);
    expect(column('date', cells, { dates: 'dmy' }).values).toEqual(['2026-04-03', '2026-06-05']);
    expect(refusal(() => column('date', ['13/4/2026', '4/13/2026']))[0]).toBe('/dates');
    expect(column('date', ['13/4/2026'], { dates: 'mdy' }).faults[0]).toMatch(
      /the dates of the table are mdy/,
    );
  });

  it('times have an offset, or the zone is declared; a local time that occurs twice, or not at all, is refused', () => {
    expect(column('instant', ['1.3.2027 6:05+0100', '2027-03-01T06:05:00.5Z']).values).toEqual([
      '2027-03-01T06:05:00+01:00',
      '2027-03-01T06:05:00.5Z',
    ]);
    expect(refusal(() => column('instant', ['2027-03-01 06:05']))[0]).toBe('/timeZone');
    expect(refusal(() => column('instant', ['2027-03-01 06:05'], { timeZone: 'Mars/Base' }))[0]).toBe(
      '/timeZone',
    );
    expect(column('instant', ['2027-03-01 06:05'], { timeZone: '+05:45' }).values).toEqual([
      '2027-03-01T06:05:00+05:45',
    ]);
    // Rules of the European Union: forward on 28 March 2027, back on 31 October 2027, at 01:00 UTC.
    const { values, faults, forms } = column(
      'instant',
      ['2027-01-01 06:05', '2027-07-01 06:05', '2027-03-28 02:30', '2027-10-31 02:30', '2027-10-31 03:00'],
      { timeZone: 'Europe/Zurich' },
    );
    expect([values[0], values[1], values[4]]).toEqual([
      '2027-01-01T06:05:00+01:00',
      '2027-07-01T06:05:00+02:00',
      '2027-10-31T03:00:00+01:00',
    ]);
    expect(faults[2]).toMatch(/does not exist in Europe\/Zurich/);
    expect(faults[3]).toMatch(/is there twice in Europe\/Zurich/);
    expect(forms).toEqual({ dates: 'ymd', timeZone: 'Europe/Zurich' });
  });
});

describe('times of day', () => {
  const read = (kind: 'plain' | 'number', text: string): object | undefined =>
    canonicalRows(
      [{ line: 2, width: 1, cells: [{ kind, text }] }],
      [{ name: 'x', type: 'time', place: 0 }],
      {},
      { file: 'xlsx' },
    ).rows[0]?.cells[0];

  it.each<['plain' | 'number', string, string, string]>([
    ['plain', '6:00', '06:00', '"6:00"'],
    ['plain', '06:05:00', '06:05', '"06:05:00"'],
    ['plain', '18:30:00.000', '18:30', '"18:30:00.000"'],
    ['number', '0.25', '06:00', 'the number 0.25'],
    ['number', '0', '00:00', 'the number 0'],
    ['number', '0.29166666666666669', '07:00', 'the number 0.29166666666666669'],
    ['number', '0.99930555555555556', '23:59', 'the number 0.99930555555555556'],
  ])('a %s cell %s is %s, with a note', (kind, text, time, shown) => {
    expect(read(kind, text)).toEqual({ text: time, note: `x is ${shown}, read as ${time}` });
  });

  it('are whole minutes of a day; other text is left to the rules of the field', () => {
    expect(read('plain', '06:00')).toEqual({ text: '06:00' });
    expect(read('plain', 'noon')).toEqual({ text: 'noon' });
    for (const [kind, text] of [
      ['plain', '06:00:30'],
      ['plain', '06:00:00.5'],
      ['number', '0.25001'],
      ['number', '6'],
      ['number', '-0.25'],
    ] as const)
      expect(read(kind, text)).toEqual({
        text,
        fault: expect.stringMatching(/^x is .*; it must be a time of day in whole minutes, HH:MM$/),
      });
  });
});

describe('chainages', () => {
  it.each<[string[], object, object, string[]]>([
    [['12+345.678'], {}, { decimal: 'point', chainages: 'km+m' }, ['12+345.678']],
    [['12+345,678', '12+400'], {}, { decimal: 'comma', chainages: 'km+m' }, ['12+345.678', '12+400']],
    [['1 + 204.5', '1300'], {}, { decimal: 'point', chainages: 'km+m' }, ['1+204.5', '1300']],
    [['1204.5', '1300'], {}, { decimal: 'point', chainages: 'm' }, ['1204.5', '1300']],
    [['12.345'], { decimal: 'point', chainages: 'm' }, { decimal: 'point', chainages: 'm' }, ['12.345']],
    [
      ['12,345', '0,0005', '7', '-0,5'],
      { chainages: 'km' },
      { decimal: 'comma', chainages: 'km' },
      ['12345', '0.5', '7000', '-500'],
    ],
  ])('%j %j', (cells, declared, forms, values) => {
    expect(column('chainage', cells, declared)).toEqual({
      values,
      faults: cells.map(() => undefined),
      forms,
    });
  });

  it('with a plus have their own decimal sign, whatever that of the numbers is', () => {
    const rows = [
      ['3+230.500', '0,600'],
      ['3 + 229,5', '1,5'],
      ['3+23,5', '2'],
    ].map((cells, index) => ({
      line: index + 2,
      width: 2,
      cells: cells.map((text) => ({ kind: 'plain' as const, text })),
    }));
    const columns = [
      { name: 'from', type: 'chainage' as const, place: 0 },
      { name: 'volume', type: 'number' as const, place: 1 },
    ];
    const form = { file: 'csv' as const, delimiter: 'semicolon' };
    for (const declared of [{}, { decimal: 'comma' }, { decimal: 'comma', chainages: 'km+m' }]) {
      const found = canonicalRows(rows, columns, declared, form);
      expect(found.rows.map(({ cells }) => cells)).toEqual([
        [{ text: '3+230.500' }, { text: '0.600' }],
        [{ text: '3+229.5' }, { text: '1.5' }],
        [{ text: '3+23,5' }, { text: '2' }],
      ]);
      expect(found.forms).toEqual({ ...form, decimal: 'comma', chainages: 'km+m' });
    }
    const all = (number: string) =>
      canonicalRows(
        rows
          .slice(0, 1)
          .map((row) => ({ ...row, cells: row.cells.with(1, { kind: 'plain', text: number }) })),
        columns,
        {},
        form,
      );
    expect(all('1.234').forms).toEqual({ ...form, decimal: 'point', chainages: 'km+m' });
    expect(refusal(() => all('1,234'))).toEqual([
      '/decimal',
      expect.stringMatching(/^"1,234" \(volume, line 2\) may have decimals or thousands/),
    ]);
    expect(column('chainage', ['3+230.5', '3+230,5']).forms).toEqual({ chainages: 'km+m' });
  });

  it('are shown in errors as the file has them', () => {
    expect(refusal(() => column('chainage', ['1 204,5', '1204.5']))[1]).toMatch(
      /a decimal comma, "1 204,5" \(x, line 2\), and with a decimal point, "1204.5"/,
    );
    expect(column('chainage', ['1 204,5'], { chainages: 'km+m' }).faults[0]).toMatch(
      /^x is "1 204,5"; it must/,
    );
  });

  it('metres or kilometres are not guessed', () => {
    const cells = ['0', '0.5004', '12.3456'];
    expect(refusal(() => column('chainage', cells))).toEqual([
      '/chainages',
      '"0.5004" (x, line 3) may be metres or kilometres: declare chainages as m or km',
    ]);
    expect(column('chainage', cells, { chainages: 'km' }).values).toEqual(['0', '500.4', '12345.6']);
    expect(column('chainage', ['1+204'], { chainages: 'km' }).faults[0]).toMatch(/must be a number of km/);
    expect(column('chainage', ['1204'], { chainages: 'km+m' }).faults[0]).toMatch(
      /must read like 12\+345\.678/,
    );
  });
});

describe('a workbook', () => {
  /** Styles: 0 plain, 1 a built-in date, 2 dd.mm.yyyy hh:mm, 3 text with a d in quotation marks. */
  const STYLES = `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="dd.mm.yyyy hh:mm"/><numFmt numFmtId="165" formatCode="0.0&quot;d&quot;"/></numFmts>
    <cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="165"/></cellXfs></styleSheet>`;
  const styled = (sheet: string, book = ''): Buffer => {
    const parts = workbookParts(sheet);
    const rels = 'xl/_rels/workbook.xml.rels';
    return archive({
      ...parts,
      'xl/workbook.xml': String(parts['xl/workbook.xml']).replace('<sheets>', `${book}<sheets>`),
      [rels]: String(parts[rels]).replace(
        '</Relationships>',
        '<Relationship Id="rIdS" Type="x/styles" Target="styles.xml"/></Relationships>',
      ),
      'xl/styles.xml': STYLES,
    });
  };
  const CELLS = `<sheetData><row r="3"><c r="A3" t="inlineStr"><is><t>x</t></is></c></row>
    <row r="5"><c r="A5" s="1"><v>46450</v></c></row><row r="6"><c r="A6" s="2"><v>46450.25</v></c></row><row r="8"><c r="A8" s="2"><v>46450</v></c></row><row r="7"><c r="A7" s="3"><v>46450</v></c></row></sheetData>`;

  it('is read with dates by their formats, and rows by their numbers', () => {
    // By Python: date(1899, 12, 30) + timedelta(46450), date(1904, 1, 1) + timedelta(46450).
    const { rows, forms } = read(styled(CELLS));
    expect(rows.map(({ line, cells }) => [line, cells[0]])).toEqual([
      [5, { kind: 'date', text: '2027-03-04' }],
      [6, { kind: 'date', text: '2027-03-04T06:00:00' }],
      [8, { kind: 'date', text: '2027-03-04T00:00:00' }],
      [7, { kind: 'number', text: '46450' }],
    ]);
    expect(forms).toEqual({ file: 'xlsx', sheet: 'Bill' });
    const since1904 = read(styled(CELLS, '<workbookPr date1904="1"/>'));
    expect(since1904.rows[0]?.cells[0]?.text).toBe('2031-03-05');
  });

  it('has one visible sheet, or the sheet is named', () => {
    const parts = workbookParts(CELLS);
    const two = archive({
      ...parts,
      'xl/workbook.xml': String(parts['xl/workbook.xml']).replace(/ state="[a-zA-Z]+"/g, ''),
    });
    expect(refusal(() => read(two))).toEqual([
      '/sheet',
      expect.stringMatching(/it has several sheets, "Notes", "Bill": name one by sheet$/),
    ]);
    expect(read(two, { sheet: 'Bill' }).rows).toHaveLength(4);
    expect(refusal(() => read(two, { delimiter: ';' }))).toEqual([
      '/delimiter',
      expect.stringMatching(/is a workbook/),
    ]);
    expect(refusal(() => read('a\n1\n', { sheet: 'Bill' }))).toEqual([
      '/sheet',
      expect.stringMatching(/no workbook/),
    ]);
  });
});
