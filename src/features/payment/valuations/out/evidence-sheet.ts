import type { PrintSheet, XlsxCell } from '../../../../common/files/xlsx.js';
import type { Account, Evidence } from './account.js';
import { contestedWords, markOf, placeOf, titleOf } from './account-words.js';
import { alignedFormat, decimalsIn } from './sheet-figures.js';

/** Most records in a workbook; the API gives all of them, in pages. */
export const MOST_EVIDENCE = 20_000;

type Column = [title: string, width: number, field: keyof Evidence, isNumber?: boolean];

const COLUMNS: Column[] = [
  ['Reference', 13, 'reference'],
  ['Bill', 8, 'version'],
  ['Source', 10, 'source'],
  ['Record', 42, 'sourceKey'],
  ['Effect', 11, 'effect'],
  ['Ground class', 9, 'groundClass'],
  ['Date', 11, 'shiftDate'],
  ['Shift', 9, 'shiftName'],
  ['From', 12, 'fromChainage'],
  ['To', 12, 'toChainage'],
  ['Base unit', 7, 'baseUnit'],
  ['Previous', 16, 'previousQuantity', true],
  ['This period', 16, 'quantity', true],
  ['To date', 16, 'toDateQuantity', true],
  ['Held apart', 14, 'heldQuantity', true],
  ['Class by', 17, 'basis'],
  ['Contested by', 40, 'contested'],
];

/** Number formats by number of decimals, all aligned at the decimal point. */
const formatsOf = (evidence: Evidence[]): string[] => {
  let most = 0;
  for (const one of evidence)
    for (const [, , field, isNumber] of COLUMNS)
      if (isNumber) most = Math.max(most, decimalsIn(String(one[field])));
  return Array.from({ length: most + 1 }, (_, decimals) => alignedFormat(decimals, most));
};

const cellOf = (evidence: Evidence, [, , field, isNumber]: Column, formats: string[]): XlsxCell | null => {
  const value = evidence[field];
  if (value == null) return null;
  const text = typeof value === 'object' ? contestedWords(value) : String(value);
  if (!isNumber) return { text };
  return text === '0' && field === 'heldQuantity'
    ? null
    : { number: text, format: formats[decimalsIn(text)] ?? '' };
};

const extent = ({ drive, project, head }: Account, evidence: Evidence[]): string => {
  const all = evidence[0]?.ofAll ?? 0;
  return evidence.length < all
    ? `ONLY ${evidence.length} OF ${all} RECORDS ARE HERE. All of them, line by line: GET /v1/projects/${project}/drives/${drive}/valuations/${head.number}/lines/{reference}/sources`
    : `All ${all} records are here.`;
};

/** The records behind the lines: what has changed since the previous valuation, what is held apart and what is incomplete. */
export const evidenceSheet = (account: Account, evidence: Evidence[]): PrintSheet => {
  const mark = markOf(account);
  const formats = formatsOf(evidence);
  return {
    name: 'Evidence',
    widths: COLUMNS.map(([, width]) => width),
    headingRow: 5,
    ...(mark === undefined ? {} : { header: mark }),
    footer: `Evidence of ${titleOf(account)}, ${placeOf(account)}`,
    rows: [
      [{ text: `Evidence of ${titleOf(account)}${mark === undefined ? '' : ` – ${mark}`}`, font: 'title' }],
      [
        {
          text: 'The records that changed a line since the valuation before, and those held apart, contested or incomplete.',
        },
      ],
      [
        {
          text: 'Quantities are in base units and not rounded: nr, m, m2, m3, kg, s; of a lump sum in its unit.',
        },
      ],
      [{ text: extent(account, evidence), font: 'bold' }],
      COLUMNS.map(([title, , , isNumber]) => ({
        text: title,
        font: 'bold',
        shaded: true,
        line: 'below',
        wrap: true,
        align: isNumber ? 'right' : 'left',
      })),
      ...evidence.map((one) => COLUMNS.map((column) => cellOf(one, column, formats))),
    ],
  };
};
