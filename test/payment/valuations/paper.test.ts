import { accountPaper } from '../../../src/features/payment/valuations/out/account-paper.js';
import { accountSheet } from '../../../src/features/payment/valuations/out/account-sheet.js';
import { evidenceSheet } from '../../../src/features/payment/valuations/out/evidence-sheet.js';
import { product } from '../../../src/features/payment/valuations/out/sheet-figures.js';
import { xlsxOf } from '../../../src/common/files/xlsx.js';
import { anAccount, type LineSaid, manyLines } from './accounts.js';
import { misplaced, type Page, pagesOf } from './paper.js';
import { cellsOf, recomputed } from './sheet.js';

// The layout of a valuation on its pages, for invented valuations.

const GIANT = '999999999999.123456';
const WILD: LineSaid[] = [
  {
    description: `${'Lang '.repeat(390)}${'x'.repeat(300)}\nnext\tline`,
    group: ['G'.repeat(40), 'A title that goes on and on '.repeat(7)],
    rate: GIANT,
    toDate: GIANT,
    billQuantity: '123456.123456',
  },
  {
    group: ['G'.repeat(40), 'A title that goes on and on '.repeat(7)],
    unit: '12345678901234567890',
    toDate: '-12.500',
    previous: '4.000',
  },
];

const CASES = {
  'three lines': anAccount(
    manyLines(3).map((line) => ({ ...line, group: null })),
    'draft',
  ),
  'forty lines': anAccount(manyLines(40)),
  'four hundred lines': anAccount(manyLines(400), 'agreed', { changedSinceAgreed: true, openShiftCount: 2 }),
  'long texts and large numbers': anAccount(WILD, 'draft', {
    remark: 'Said at length. '.repeat(30),
    preparedBy: 'someone-with-a-very-long-name@'.repeat(8),
  }),
  'no lines': anAccount([], 'draft'),
};

const papers = new Map<string, Page[]>();

beforeAll(async () => {
  for (const [name, account] of Object.entries(CASES))
    papers.set(name, await pagesOf(await accountPaper(account)));
});

/** Texts on the same line as a text, from left to right. */
const beside = ({ pieces }: Page, text: string): string[] => {
  const first = pieces.find((piece) => piece.text === text);
  return pieces.filter(({ y }) => first && Math.abs(y - first.y) < 1).map((piece) => piece.text);
};

describe.each(Object.keys(CASES))('%s', (name) => {
  const account = CASES[name as keyof typeof CASES];

  it('nothing overlaps or lies outside the page', () => {
    expect(papers.get(name)!.flatMap(misplaced)).toEqual([]);
  });

  it('no word is lost', () => {
    const text = papers
      .get(name)!
      .map((page) => page.text)
      .join('')
      .replaceAll(/\s/g, '');
    for (const { reference, groupTitle, unit } of account.lines)
      for (const words of [reference, groupTitle ?? '', unit.slice(0, 8), unit.slice(-4)])
        expect(text).toContain(words.replaceAll(/\s/g, ''));
    for (const { description } of account.lines)
      for (const word of description.split(/\s/)) expect(text).toContain(word.slice(0, 20));
    for (const words of [account.head.remark ?? '', account.head.preparedBy])
      expect(text).toContain(words.replaceAll(/\s/g, ''));
  });

  it('every page has its number, and column headings where it has lines', () => {
    const pages = papers.get(name)!;
    for (const [index, page] of pages.entries()) {
      expect(page.text).toContain(`Page ${index + 1} of ${pages.length}`);
      if (/T\.\d{3}/.test(page.text.replace(/Disputed quantities.*?\./, '')))
        expect(page.text).toContain('Description Unit');
    }
  });

  it('the total carried forward on one page is brought forward on the next', () => {
    const pages = papers.get(name)!;
    const carried = pages.map((page) => beside(page, 'Carried forward').slice(1));
    const brought = pages.map((page) => beside(page, 'Brought forward').slice(1));
    expect(brought.slice(1)).toEqual(carried.slice(0, -1));
    // the sums carried forward: those of the last reference on the page
    for (const [index, sums] of carried.entries()) {
      if (sums.length === 0) continue;
      const last = pages[index]!.pieces.filter(({ text, x }) => x < 60 && /^T\.\d{3}$/.test(text)).at(
        -1,
      )?.text;
      const line = account.lines.find(({ reference }) => reference === last)!;
      const { previous, period, toDate } = line.carriedSums;
      expect(sums).toEqual([previous, period, toDate]);
    }
  });
});

it('the decimal points of a column are aligned', () => {
  const [page] = papers.get('forty lines')!;
  const rates = page!.pieces.filter(({ text }) => text === '18450.5' || text === '1850' || text === '42.35');
  const point = ({ text, x, width }: (typeof rates)[number]): number => {
    const [, fraction] = text.split('.');
    if (fraction === undefined) return x + width;
    // widths of a digit and of the point in units of the font's em, at 8 points
    return x + width - (8 * (fraction.length * 1172 + 585)) / 2048;
  };
  expect(new Set(rates.map(({ text }) => text)).size).toBe(3);
  const points = rates.map((rate) => point(rate));
  expect(Math.max(...points) - Math.min(...points)).toBeLessThan(0.5);
});

it('says what a signatory must know', () => {
  const [first] = papers.get('four hundred lines')!;
  for (const caution of [
    'NOT CERTIFIED: agreed by one person; another must certify it. Not for payment.',
    'The record has changed since it was agreed',
    '2 shifts until the cut-off are not countersigned and do not count.',
    'T.102, T.119, T.136, T.153, T.170, T.187, T.204, T.221 and 16 more.',
  ])
    expect(first!.text).toContain(caution);
});

it('signatures stay together', () => {
  for (const pages of papers.values())
    for (const role of ['Prepared', 'Agreed', 'Certified'])
      expect(pages.at(-1)!.pieces.map(({ text }) => text)).toContain(role);
});

describe('a sheet', () => {
  it.each(Object.keys(CASES))('of %s shows the values of its formulas', async (name) => {
    const account = CASES[name as keyof typeof CASES];
    const { cells } = cellsOf(await xlsxOf(accountSheet(account)), 1);
    for (const [place, { formula, value }] of Object.entries(cells))
      if (formula !== undefined) expect([place, recomputed(cells, place)]).toEqual([place, value]);
  });

  it('has a figure where fifteen digits cannot reproduce it, otherwise a formula', () => {
    // 1.5 × 0.67 = 1.005, which is not a binary fraction
    expect(product(['H9', '1.5'], ['D9', '0.67'], '1.01')).toEqual({
      formula: 'ROUND(H9*D9,2)',
      value: '1.01',
    });
    // 0.004999999999999999 rounds to 0.00, but its first fifteen digits to 0.01
    expect(product(['H9', '0.4999999999999999'], ['D9', '0.01'], '0.00')).toEqual({ value: '0.00' });
    expect(product(['H9', GIANT], ['D9', GIANT], '999999999998246912000000.77').formula).toBeUndefined();
  });

  it('says which records are left out, and where to find them', () => {
    const one = {
      reference: 'T.100',
      version: 'V1',
      source: 'support' as const,
      sourceKey: '2027-03-01/day/support/1',
      effect: 'measured',
      previousQuantity: '0',
      quantity: '0.333333333',
      toDateQuantity: '0.333333333',
      heldQuantity: '0',
      contested: [],
      baseUnit: 'nr',
      ofAll: 20_001,
    };
    const { rows } = evidenceSheet(CASES['forty lines'], [one]);
    expect(rows[3]).toMatchObject([
      {
        text: 'ONLY 1 OF 20001 RECORDS ARE HERE. All of them, line by line: GET /v1/projects/P1/drives/N/valuations/7/lines/{reference}/sources',
      },
    ]);
    expect(rows[5]?.[12]).toMatchObject({ number: '0.333333333', format: '#,##0.000000000' });
  });
});
