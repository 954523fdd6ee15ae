import { parse } from 'csv-parse/sync';
import type { LineSourcePage, Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { EVIDENCE } from '../../../src/features/payment/valuations/out/account-sql.js';
import type { Office } from '../../harness/office.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import {
  aBill,
  aDay,
  booked,
  certified,
  drafted,
  type Item,
  ITEMS,
  PLACE,
  sent,
  startContract,
} from './contract.js';
import { pagesOf } from './paper.js';
import { type Cells, cellsOf, recomputed } from './sheet.js';

// An exported valuation, in the invented contract: as a draft, and certified with a downward correction. The three files agree
// with the API.

let office: Office;

const EVIL = '=HYPERLINK("http://x","pay")';
const grouped = (item: Item, group?: [code: string, title: string]): Item =>
  ({ ...item, ...(group ? { groupCode: group[0], groupTitle: group[1] } : {}) }) as Item;

const bytes = async (number: number, kind: string): Promise<Buffer> => {
  const answer = await office.http
    .get(`${PLACE}/valuations/${number}/export.${kind}`)
    .set(office.headersOf('vera'))
    .buffer(true)
    .parse((stream, done) => {
      const parts: Buffer[] = [];
      stream.on('data', (part: Buffer) => parts.push(part));
      stream.on('end', () => done(null, Buffer.concat(parts)));
    });
  expect([answer.status, answer.headers['content-disposition']]).toEqual([
    200,
    `attachment; filename="valuation-N-${number}.${kind}"`,
  ]);
  return answer.body as Buffer;
};

interface Out {
  says: Valuation;
  csv: Record<string, string>[];
  workbook: Buffer;
  cells: Cells;
  xml: string;
  pages: string[];
  pdf: Buffer;
}

const outOf = async (number: number): Promise<Out> => {
  const says = await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/${number}`);
  const csv = parse(await bytes(number, 'csv'), { columns: true, record_delimiter: '\r\n' }) as Out['csv'];
  const workbook = await bytes(number, 'xlsx');
  const pdf = await bytes(number, 'pdf');
  return {
    says,
    csv,
    workbook,
    ...cellsOf(workbook, 1),
    pages: (await pagesOf(pdf)).map(({ text }) => text),
    pdf,
  };
};

let draft: Out;
let paid: Out;
let next: Out;

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', [
    // the group of the first item continues after another one
    ...ITEMS.slice(0, 3).map((item) => grouped(item, ['T', 'Excavation – m³ of the theoretical face'])),
    ...ITEMS.slice(3, 6).map((item) => grouped(item, ['S', '+Support'])),
    grouped({ ...ITEMS[6]!, description: EVIL } as Item, ['T', 'Excavation – m³ of the theoretical face']),
    grouped(ITEMS[10]!),
  ]);
  const day = (date: string, stroke: number, from: string, to: string, bolts: string) =>
    aDay(date, stroke, from, to, (shift) =>
      shift
        .withGround('A', from, to)
        .withSupport('BOLT', from, to, bolts)
        .withSupport('SPRAY', from, to, '3.25'),
    );
  await booked(office, '2027-03-01', day('2027-03-01', 1, '1+200', '1+201.7', '8'));
  await booked(office, '2027-03-02', day('2027-03-02', 2, '1+201.7', '1+203.4', '17'));
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-03-31`, { percent: '40' });
  await sent(office, 'clara', 'put', `${PLACE}/valuations/1`, { cutOff: '2027-03-31', remark: '=1+1' });
  draft = await outOf(1);
  await certified(office, 1);
  paid = await outOf(1);

  await booked(office, '2027-03-02', day('2027-03-02', 2, '1+201.7', '1+203.4', '2'));
  await aBill(
    office,
    'V2',
    '2027-04-01',
    ITEMS.slice(3, 4).map((item) => ({ ...item, rate: '44.1' })),
  );
  await booked(office, '2027-04-05', day('2027-04-05', 3, '1+203.4', '1+205.1', '9'));
  await drafted(office, 2, '2027-04-30');
  await sent(office, 'boris', 'post', `${PLACE}/quantity-disputes`, {
    reference: 'B.1',
    sourceKey: '2027-03-01/day/support/1',
    reason: 'two are short',
  });
  await sent(office, 'boris', 'post', `${PLACE}/valuations/2/agree`);
  next = await outOf(2);
});

afterAll(() => office.close());

const QUANTITIES = ['previousQuantity', 'quantity', 'toDateQuantity'] as const;
const AMOUNTS = ['previousAmount', 'amount', 'toDateAmount'] as const;
const snake = (field: string): string => field.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);

/** Lines of the sheet by the version of their bill and their reference. */
const sheetLines = (cells: Cells): number[] =>
  Object.keys(cells)
    .filter((place) => /^A\d+$/.test(place) && cells[place.replace('A', 'D')]?.value !== undefined)
    .map((place) => Number(place.slice(1)));

const outs = (): [string, Out][] => [
  ['draft', draft],
  ['certified', paid],
  ['agreed, of two bills', next],
];

it.each(['draft', 'certified', 'agreed, of two bills'])('%s: all three agree with the API', (which) => {
  const { says, csv, cells, pages } = outs().find(([name]) => name === which)![1];
  expect(csv).toHaveLength(says.lines.length);
  expect(sheetLines(cells)).toHaveLength(says.lines.length);
  const paper = pages.join(' ');
  for (const line of says.lines) {
    const row = csv.find(
      (one) => one['reference'] === line.reference && one['bill_version'] === line.version,
    )!;
    for (const field of [...QUANTITIES, ...AMOUNTS, 'heldQuantity', 'rate', 'unit'] as const)
      expect([field, row[snake(field)]]).toEqual([field, line[field]]);
    expect(Number(row['bill_quantity'])).toBe(Number(line.billQuantity));
    const at = sheetLines(cells).find(
      (place) => cells[`A${place}`]?.text === line.reference && cells[`D${place}`]?.value === line.rate,
    );
    const value = (column: string): string | undefined => cells[`${column}${at}`]?.value;
    expect(['F', 'G', 'H'].map(value)).toEqual(QUANTITIES.map((field) => line[field]));
    expect(['J', 'K', 'L'].map(value)).toEqual(AMOUNTS.map((field) => line[field]));
    expect(value('M') ?? '0').toBe(Number(line.heldQuantity) === 0 ? '0' : line.heldQuantity);
    const figures = [...QUANTITIES, ...AMOUNTS].map((field) => line[field]);
    expect(paper).toContain(
      [...figures.slice(0, 3), row['percent_of_bill'], ...figures.slice(3)].filter(Boolean).join(' '),
    );
  }
  for (const sum of [says.previousAmount, says.amount, says.toDateAmount])
    expect(paper).toContain(`EUR ${sum}`);
});

it('the formulas give the values stored with them', () => {
  let count = 0;
  for (const [, { cells, says }] of outs()) {
    for (const [place, { formula, value }] of Object.entries(cells)) {
      if (formula === undefined) continue;
      count += 1;
      expect([place, formula, recomputed(cells, place)]).toEqual([place, formula, value]);
    }
    const total = Object.keys(cells).find(
      (place) => cells[place]?.text === `Total of valuation ${says.number}`,
    )!;
    expect(recomputed(cells, total.replace('B', 'K'))).toBe(says.amount);
  }
  expect(count).toBeGreaterThan(100);
});

it('an amount is the rounded product, and this period the difference', () => {
  const line = sheetLines(paid.cells)[0]!;
  const formula = (column: string): string | undefined => paid.cells[`${column}${line}`]?.formula;
  expect(['G', 'I', 'K', 'L'].map(formula)).toEqual([
    `ROUND(H${line}-F${line},2)`,
    `ROUND(100*H${line}/E${line},1)`,
    `ROUND(L${line}-J${line},2)`,
    `ROUND(H${line}*D${line},2)`,
  ]);
});

it('lines are under their groups, each with its total', () => {
  const printed = Object.entries(paid.cells).flatMap(([place, { text }]) =>
    place.startsWith('B') && text ? [text] : [],
  );
  const from = printed.indexOf('Description') + 1;
  expect(printed.slice(from, from + 15)).toEqual([
    'T  Excavation – m³ of the theoretical face',
    'Item T.1',
    'Item T.2',
    'Item T.3',
    EVIL,
    'Total of group T',
    'S  +Support',
    'Item B.1',
    'Item B.2',
    'Item M.1',
    'Total of group S',
    'Without group',
    'Item L.1',
    'Total without group',
    'Total of valuation 1',
  ]);
  // 6290.00 + 12496.00 … by hand: 3.4 m at 1850, 130.8 m³ at 95.5, 6.5 m³ at 310
  const total = Object.keys(paid.cells).find((place) => paid.cells[place]?.text === 'Total of group T')!;
  expect(paid.cells[total.replace('B', 'L')]?.value).toBe('20796.40');
  for (const words of printed.slice(from, from + 15))
    expect(paid.pages.join(' ')).toContain(words.replaceAll('  ', ' '));
});

it('a draft says so on every page and sheet', () => {
  for (const page of draft.pages) expect(page).toContain('DRAFT');
  expect(draft.csv.map(({ state }) => state)).toEqual(draft.csv.map(() => 'draft'));
  for (const sheet of [1, 2]) {
    const { xml, cells } = cellsOf(draft.workbook, sheet);
    expect(xml).toContain('<oddHeader>&amp;C&amp;"Arial,Bold"&amp;14 DRAFT</oddHeader>');
    expect(cells['A1']?.text).toMatch(/Valuation 1 – DRAFT$/);
  }
  expect(draft.pages.join(' ')).not.toContain('after change');
});

it('agreed by one side it says that it is not certified', () => {
  for (const page of next.pages) expect(page).toContain('NOT CERTIFIED');
  expect(next.cells['A1']?.text).toBe('Valuation 2 – NOT CERTIFIED');
  expect(next.pages.join(' ')).toContain(
    'Quantities that are disputed, or of a class that is not agreed, are held apart and in no other figure of the item: B.1',
  );
  expect(next.pages.join(' ')).toContain('Held apart, in no other figure of the item: 8 nr');
});

it('certified it names who signed, when, the seal and the change', () => {
  const { says, csv, cells, pages, xml } = paid;
  expect(pages.join(' ')).not.toMatch(/DRAFT|NOT CERTIFIED/);
  expect(xml).not.toContain('oddHeader');
  const minute = (at?: string): string => String(at).slice(0, 16).replace('T', ' '); // the trial project keeps UTC
  const sheet = Object.values(cells).flatMap(({ text }) => text ?? []);
  const change = `Measured from the record as it stood after change ${says.measuredChange} of its history.`;
  const seal = `Seal, SHA-256 over the lines: ${says.seal}`;
  for (const words of [
    'clara',
    'boris',
    minute(says.preparedAt),
    minute(says.agreedAt),
    minute(says.certifiedAt),
    change,
    seal,
  ])
    expect(pages.at(-1)).toContain(words);
  for (const words of [
    `boris   ${minute(says.agreedAt)}`,
    `clara   ${minute(says.certifiedAt)}`,
    change,
    seal,
  ])
    expect(sheet).toContain(words);
  for (const row of csv)
    expect([
      row['state'],
      row['agreed_by'],
      row['certified_by'],
      row['seal'],
      row['measured_change'],
    ]).toEqual(['certified', 'boris', 'clara', says.seal, String(says.measuredChange)]);
});

it('text that looks like a formula stays text', async () => {
  const raw = (await bytes(1, 'csv')).toString();
  expect(raw).toContain(`"'=HYPERLINK(""http://x"",""pay"")"`);
  expect(raw).toContain(`"'+Support"`);
  expect(raw.split('\r\n').filter((row) => /(^|,)[=+@]/.test(row))).toEqual([]);
  const evil = Object.values(paid.cells).find(({ text }) => text === EVIL);
  expect(evil).toEqual({ text: EVIL });
  expect(Object.values(paid.cells).map(({ text }) => text)).toContain('Remark: =1+1');
  expect(paid.pages.join(' ')).toContain(EVIL);
});

it('the second sheet has the records behind each line', async () => {
  const { cells } = cellsOf(next.workbook, 2);
  const rows = Object.keys(cells)
    .filter((place) => /^A([6-9]|\d\d)$/.test(place))
    .map((place) => Number(place.slice(1)));
  for (const reference of ['B.1', 'T.1']) {
    const { items } = await sent<LineSourcePage>(
      office,
      'vera',
      'get',
      `${PLACE}/valuations/2/lines/${reference}/sources`,
    );
    const behind = rows
      .filter((row) => cells[`A${row}`]?.text === reference)
      .map((row) =>
        ['B', 'D', 'E', 'L', 'M', 'N', 'O'].map(
          (column) => cells[`${column}${row}`]?.text ?? cells[`${column}${row}`]?.value,
        ),
      );
    expect(behind).toEqual(
      items
        .map((item) => [
          item.version,
          item.sourceKey,
          item.effect,
          item.previousQuantity,
          item.quantity,
          item.toDateQuantity,
          item.heldQuantity === '0' ? undefined : item.heldQuantity,
        ])
        .sort(([a], [b]) => (a! < b! ? -1 : Number(a! > b!))),
    );
  }
  expect(cells['A4']?.text).toBe(`All ${rows.length} records are here.`);
});

it('truncated evidence has the first records, and says how many there are', async () => {
  const [drive] = await office.sql<{ id: number; project_id: number }>('select id, project_id from drive');
  const session = await serviceSession(office.url);
  try {
    await takenBack(session, drive?.project_id, async () => {
      const all = await rowsOf(session, EVIDENCE, [drive?.id, 2, 1000]);
      expect(new Set(all.map(({ reference }) => reference)).size).toBeGreaterThan(1);
      expect(all.map(({ ofAll }) => ofAll)).toEqual(all.map(() => all.length));
      for (let most = 1; most < all.length; most += 1)
        expect(await rowsOf(session, EVIDENCE, [drive?.id, 2, most])).toEqual(all.slice(0, most));
    });
  } finally {
    await session.end();
  }
});

it('the same valuation gives the same files, and an unknown one is not found', async () => {
  expect((await bytes(1, 'pdf')).equals(paid.pdf)).toBe(true);
  const { status, body } = await office.http
    .get(`${PLACE}/valuations/9/export.pdf`)
    .set(office.headersOf('vera'));
  expect([status, body.detail]).toEqual([404, 'There is no valuation 9 of drive N in project P1.']);
});
