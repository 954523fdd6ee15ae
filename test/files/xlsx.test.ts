import { inflateRawSync } from 'node:zlib';
import { readXlsx, type SheetValue } from '../../src/common/files/xlsx-read.js';
import { type PrintSheet, xlsxOf } from '../../src/common/files/xlsx.js';
import { ZipFile, zipOf } from '../../src/common/files/zip.js';
import { archive, workbookParts } from './archives.js';

const cellsOf = (file: Buffer, sheet?: string): Record<string, SheetValue> =>
  Object.fromEntries(
    readXlsx(file, sheet).rows.flatMap(({ line, cells }) =>
      [...cells].map(([column, value]) => [`${String.fromCharCode(65 + column)}${line}`, value]),
    ),
  );

describe('a workbook of another program', () => {
  it('is read with its shared texts, types and stored values', () => {
    const sheet = `<sheetData>
      <row r="2"><c r="A2" t="s"><v>0</v></c><c r="C2" t="s"><v>1</v></c></row>
      <row><c><v>12.300000000000001</v></c><c t="str"><f>A1&amp;"x"</f><v>ax</v></c><c><f>1+1</f></c><c><f>1+1</f><v>2</v></c></row>
      <row r="9"><c r="A9" t="b"><v>1</v></c><c r="B9" t="e"><v>#REF!</v></c><c r="C9" t="inlineStr"><is><r><t>a</t></r><r><t xml:space="preserve"> b</t></r></is></c><c r="D9" s="3"/></row>
      <row r="10"><c r="A10"/></row></sheetData><mergeCells><mergeCell ref="A2:B2"/></mergeCells>`;
    const shared = [
      '<si><t>plain</t></si>',
      '<si><r><t>rich </t></r><r><t>text_x000D_</t></r><rPh><t>read aloud</t></rPh></si>',
    ];
    const file = archive(workbookParts(sheet, shared));
    expect(cellsOf(file)).toEqual({
      A2: { kind: 'text', text: 'plain' },
      C2: { kind: 'text', text: 'rich text\r' },
      A3: { kind: 'number', text: '12.300000000000001' },
      B3: { kind: 'text', text: 'ax' },
      C3: { kind: 'uncomputed', text: '' },
      D3: { kind: 'number', text: '2' },
      A9: { kind: 'other', text: 'TRUE' },
      B9: { kind: 'other', text: '#REF!' },
      C9: { kind: 'text', text: 'a b' },
    });
    expect(readXlsx(file)).toMatchObject({ name: 'Bill', merged: ['A2:B2'] });
    expect(cellsOf(file, 'Notes')).toEqual({}); // hidden, and requested by name
  });

  it('may have namespace prefixes', () => {
    const parts = workbookParts('');
    const prefixed = `<x:worksheet xmlns:x="m"><x:sheetData><x:row r="1"><x:c r="A1"><x:v>5</x:v></x:c></x:row></x:sheetData></x:worksheet>`;
    const file = archive({ ...parts, 'xl/worksheets/sheet2.xml': prefixed });
    expect(cellsOf(file)).toEqual({ A1: { kind: 'number', text: '5' } });
  });
});

describe('a workbook that is broken or hostile', () => {
  const sound = archive(workbookParts('<sheetData/>'));
  const sheetOf = (xml: string): Buffer => archive({ ...workbookParts(''), 'xl/worksheets/sheet2.xml': xml });
  const claiming = (): Buffer => {
    // 64 MB of blanks declared as one byte
    const file = archive({
      ...workbookParts(''),
      'xl/sharedStrings.xml': Buffer.alloc(64 * 1024 * 1024, 0x20),
    });
    const name = Buffer.from('xl/sharedStrings.xml');
    file.writeUInt32LE(1, file.lastIndexOf(name) - 46 + 24);
    file.writeUInt32LE(1, file.indexOf(name) - 30 + 22);
    return file;
  };
  it.each<[string, Buffer, RegExp]>([
    ['no archive', Buffer.from('PK\x03\x04 and no more'), /list of contents is missing/],
    ['cut off', sound.subarray(0, sound.length - 30), /list of contents is missing/],
    ['an archive of something else', archive({ 'a.txt': 'a' }), /it is not a workbook/],
    [
      'without its sheet',
      archive({ ...workbookParts(''), 'xl/_rels/workbook.xml.rels': '<Relationships/>' }),
      /"Bill" is not a table/,
    ],
    ['not well-formed', sheetOf('<worksheet><sheetData>'), /unclosed tag/],
    [
      'a part twice',
      zipOf([
        { name: 'a', content: Buffer.from('') },
        { name: 'a', content: Buffer.from('') },
      ]),
      /part a twice/,
    ],
    [
      'entities that multiply',
      sheetOf('<!DOCTYPE w [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><w>&b;</w>'),
      /declares a document type/,
    ],
    [
      'an entity from a file',
      sheetOf('<!DOCTYPE w [<!ENTITY a SYSTEM "file:///etc/passwd">]><w>&a;</w>'),
      /declares a document type/,
    ],
    ['UTF-16', sheetOf(Buffer.from('<worksheet/>', 'utf16le').toString('latin1') + '\xff'), /./],
    ['larger than it claims', claiming(), /larger than a table/],
    ['a row beyond all sheets', sheetOf('<w><row r="99999999"/></w>'), /not a row of a sheet/],
    ['a cell beyond all sheets', sheetOf('<w><row r="1"><c r="ZZZ1"/></row></w>'), /"ZZZ1" is not a cell/],
    [
      'a text that does not exist',
      sheetOf('<w><row r="1"><c r="A1" t="s"><v>7</v></c></row></w>'),
      /no shared text 7/,
    ],
    [
      'cells without end',
      sheetOf(`<w><row r="1">${'<c/>'.repeat(200_001)}</row></w>`),
      /more than 200000 cells/,
    ],
  ])('%s is refused with a clear message', (_, file, words) => {
    expect(() => readXlsx(file)).toThrow(RangeError);
    expect(() => readXlsx(file)).toThrow(words);
  });

  it('with a password is refused', () => {
    const file = Buffer.from(sound);
    for (let at = file.indexOf('PK\x01\x02'); at >= 0; at = file.indexOf('PK\x01\x02', at + 1))
      file.writeUInt16LE(file.readUInt16LE(at + 8) | 1, at + 8);
    expect(() => readXlsx(file)).toThrow(/password/);
  });

  it('lists its sheets', () => {
    expect(() => readXlsx(sound, 'X')).toThrow('it has no sheet "X"; its sheets are "Notes", "Bill"');
  });

  it('cut at any place gives a clear message, never another failure', () => {
    for (let length = 0; length < sound.length; length += 7)
      expect(() => readXlsx(sound.subarray(0, length))).toThrow(RangeError);
    for (let at = 0; at < sound.length; at += 11) {
      const file = Buffer.from(sound);
      file.writeUInt8(file.readUInt8(at) ^ 0x5a, at);
      try {
        readXlsx(file);
      } catch (error) {
        expect(error).toBeInstanceOf(RangeError);
      }
    }
  });
});

describe('a workbook of ours', () => {
  const texts = [
    '=1+1',
    'a & b < "c"',
    '_x0041_',
    'line\nline',
    'tab\tand \u0001\ufffe',
    "'=x",
    ' blanks ',
    '😀 m³',
  ];
  const plan: PrintSheet = {
    name: "A/B's [1] with a name that is far too long",
    widths: [10, 20],
    headingRow: 1,
    footer: 'Tom & Co',
    rows: [
      [{ text: 'Text', font: 'bold' }, { text: 'Number' }],
      ...texts.map((text) => [{ text }, null]),
      [null, { number: '123456789012.345678', format: '#,##0.000000' }],
      [
        { empty: true, line: 'above' as const },
        { formula: 'ROUND(B10*"1",2)', value: '123456789012.35' },
      ],
    ],
  };
  let file: Buffer;

  beforeAll(async () => {
    file = await xlsxOf(plan);
  });

  it('reads back as it was written, to the last digit', () => {
    const cells = cellsOf(file);
    expect(texts.map((_, index) => cells[`A${index + 2}`])).toEqual(
      texts.map((text) => ({ kind: 'text', text })),
    );
    expect(cells['B10']).toEqual({ kind: 'number', text: '123456789012.345678' });
    expect(cells['B11']).toEqual({ kind: 'number', text: '123456789012.35' });
  });

  it('has the same bytes whenever it is made, and only the listed parts', async () => {
    expect((await xlsxOf(plan)).equals(file)).toBe(true);
    const zip = new ZipFile(file, 1_000_000);
    const types = zip.read('[Content_Types].xml').toString();
    for (const [, part = ''] of types.matchAll(/PartName="\/([^"]+)"/g))
      expect([part, zip.has(part)]).toEqual([part, true]);
    const workbook = zip.read('xl/workbook.xml').toString();
    expect(workbook).toContain('name="A-B-s -1- with a name that is f"');
    expect(workbook).toContain(`'A-B-s -1- with a name that is f'!$1:$1`);
    expect(zip.read('xl/worksheets/sheet1.xml').toString()).toContain('&amp;LTom &amp;&amp; Co&amp;R');
  });

  it('is packed as a ZIP archive', () => {
    // a second method: the first local header, by PKWARE's APPNOTE 4.3.7
    const [nameLength, packed] = [file.readUInt16LE(26), file.readUInt32LE(18)];
    expect(file.toString('latin1', 30, 30 + nameLength)).toBe('[Content_Types].xml');
    const content = inflateRawSync(file.subarray(30 + nameLength, 30 + nameLength + packed));
    expect(content.length).toBe(file.readUInt32LE(22));
  });
});
