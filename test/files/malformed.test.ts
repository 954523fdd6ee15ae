import { seed } from '../harness/seed.js';
import { sized } from '../harness/sizes.js';
import { app, ownDrives, url } from '../harness/own-drives.js';
import { archive, num, workbookOf, workbookParts } from './archives.js';

// External tables, malformed in every way. Each is answered by a report of its rows or by a single refusal that names what is wrong: never by an
// error of the service, and never by half a table.

ownDrives('MF');

/** Mulberry32 (T. Ettinger, 2017): a sequence from a seed. */
const randomOf = (from: number): (() => number) => {
  let state = from;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
};

const random = randomOf(seed);
const below = (most: number): number => Math.floor(random() * most);
const oneOf = <T>(values: readonly T[]): T => values[below(values.length)] as T;

const HEADINGS = ['name', 'from', 'to', 'cause', 'volumeM3', 'remark', 'surveyedAt'];
const CELLS: Record<string, string[]> = {
  name: ['A', 'B', 'C', 'a b', '', '=1+1', "'=x", 'n\u0000', '7', '1.10', 'x'.repeat(300)],
  from: ['1+200', '1200', '1+20', '1,2', '9+999', '-1', '', '1+200.0001', '٣'],
  to: ['1+210', '1210.5', '1+205,5', '', 'end', '1e9'],
  cause: ['geological', 'operational', 'other', '', '#REF!'],
  volumeM3: ['1', '1.5', '1,5', '1.234', '1,234', '1.234,5', '-1', 'NaN', '1e400', '٣', '', ' 2 '],
  remark: ['', 'wet; left', 'a,b', '"', 'a\nb', '\ud800', '＝1', '\u202e'],
  surveyedAt: ['2027-03-01T06:00:00Z', '03/04/2027', '31.02.2027 06:00', '2027-03-01', '', '46450'],
};

const cellsOf = (): string[] =>
  HEADINGS.map((name) => {
    const values = CELLS[name] ?? [''];
    if (random() < 0.08) return oneOf(values);
    return name === 'name' ? `O${below(100)}` : (values[0] ?? '');
  });
const quoted = (cell: string): string => (random() < 0.3 ? `"${cell.replaceAll('"', '""')}"` : cell);

const csvText = (): string => {
  const separator = oneOf([',', ';', '\t', '|']);
  const headings = [...HEADINGS];
  if (random() < 0.15) headings[below(7)] = oneOf(['name', 'depth', '', 'volumeM3 [kg]', '<script>']);
  const rows = Array.from({ length: below(6) }, () => {
    const cells = cellsOf();
    if (random() < 0.15) cells.push('more');
    if (random() < 0.15) cells.splice(below(7));
    return random() < 0.1 ? '' : cells.map(quoted).join(separator);
  });
  return [headings.join(separator), ...rows].join(oneOf(['\n', '\r\n', '\r', '\n\n']));
};

const csvFile = (): Buffer => {
  const bytes = Buffer.from(csvText(), oneOf(['utf8', 'utf8', 'latin1', 'utf16le'] as const));
  const marked =
    random() < 0.2
      ? Buffer.concat([
          Buffer.from(
            oneOf([
              [0xff, 0xfe],
              [0xfe, 0xff],
              [0xef, 0xbb, 0xbf],
            ]),
          ),
          bytes,
        ])
      : bytes;
  for (let spoilt = below(3); spoilt > 0 && marked.length > 0; spoilt -= 1)
    marked[below(marked.length)] = below(256);
  return marked.subarray(0, random() < 0.1 ? below(marked.length) : marked.length);
};

type Cells = Parameters<typeof workbookOf>[0];

const bookFile = (): Buffer => {
  const rows: Cells = Array.from({ length: 1 + below(4) }, () =>
    cellsOf().map((text) =>
      oneOf<Cells[number][number]>([
        text.replaceAll('\0', ''),
        num('46450.25'),
        num(oneOf(['1', 'x', '', '1e999', '0x10'])),
        { xml: '<f>1/0</f>' },
        { xml: '<v>#N/A</v>', type: 'e' },
        { xml: '<v>9</v>', type: 's' },
        null,
      ]),
    ),
  );
  const merged = random() < 0.3 ? [oneOf(['A1:B1', 'A2:C2', 'A1', 'ZZZ1:A1', 'A2:A9'])] : [];
  try {
    return workbookOf([HEADINGS, ...rows], merged);
  } catch {
    return Buffer.from('PK');
  }
};

const hostile = (): Buffer => {
  const sheet = '<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>name</t></is></c></row></sheetData>';
  const parts = workbookParts(sheet);
  const book = 'xl/workbook.xml';
  return oneOf([
    () => archive({ ...parts, [book]: '<workbook><sheets/></workbook>' }),
    () =>
      archive({
        ...parts,
        [book]: String(parts[book]).replaceAll('name="Bill"', 'name="Bill" state="veryHidden"'),
      }),
    () => archive({ ...parts, [book]: String(parts[book]).replace(' state="hidden"', '') }),
    () =>
      archive({
        ...parts,
        'xl/worksheets/sheet2.xml': '<!DOCTYPE x [<!ENTITY a "aaaa">]><worksheet>&a;</worksheet>',
      }),
    () => archive({ ...parts, 'xl/worksheets/sheet2.xml': `<worksheet>${'<a>'.repeat(500)}` }),
    () => archive({ ...parts, 'xl/worksheets/sheet2.xml': Buffer.alloc(64 * 1024 * 1024, 0x20) }), // packs to 64 KB
    () => archive({ 'a.txt': 'no workbook' }),
    () => Buffer.from([0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1]),
    () => Buffer.from('%PDF-1.7'),
    () => Buffer.from(Array.from({ length: 500 }, () => below(256))),
    () => Buffer.alloc(0),
    () => Buffer.from('"'.repeat(below(50))),
    () => Buffer.from(',;\t|'.repeat(below(300))),
  ])();
};

const spoilt = (file: Buffer): Buffer => {
  const copy = Buffer.from(file.subarray(0, random() < 0.6 ? below(file.length) : file.length));
  for (let bytes = below(4); bytes > 0 && copy.length > 4; bytes -= 1)
    copy[2 + below(copy.length - 2)] = below(256);
  return copy;
};

const fileOf = (index: number): Buffer => {
  if (index % 4 === 0) return bookFile();
  if (index % 4 === 1) return hostile();
  if (index % 8 === 2) return spoilt(bookFile());
  return csvFile();
};

it('each is answered by a report of its rows or one refusal; a refused one leaves nothing behind', async () => {
  const statuses = new Map<number, number>();
  for (let index = 0; index < sized(60, 1000); index += 1) {
    const file = fileOf(index);
    const before = await app.contents();
    const dryRun = index % 3 === 0 ? 'true' : 'false';
    const fields: Record<string, string> = { dryRun, mode: oneOf(['whole', 'valid-rows']) };
    if (random() < 0.2) fields['timeZone'] = 'Europe/Zurich';
    const { status, body } = await app.http
      .post(`${url}/imports/overbreak`)
      .field(fields)
      .attach('file', file, 'table');
    statuses.set(status, (statuses.get(status) ?? 0) + 1);
    if (status === 200) {
      const { rowCount, created, unchanged, updated, rejected } = body;
      expect(created + unchanged + updated + rejected).toBe(rowCount);
      for (const { outcome, faults } of body.rows)
        if (outcome === 'rejected') expect(faults.length).toBeGreaterThan(0);
    } else {
      expect([index, status, body]).toEqual([
        index,
        [409, 413].includes(status) ? status : 422, // 409: its content conflicts with existing records
        expect.objectContaining({ detail: expect.any(String) }),
      ]);
      if (status === 422) expect(body.errors.length).toBeGreaterThan(0);
    }
    if (status !== 200 || dryRun === 'true') expect(await app.contents()).toBe(before);
  }
  expect([...statuses.keys()].sort()).toEqual(expect.arrayContaining([200, 422]));
  expect(statuses.get(200)).toBeGreaterThan(sized(3, 10));
});
