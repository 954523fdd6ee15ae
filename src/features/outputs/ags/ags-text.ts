/** The grammar of AGS 4.1.1: rows of quoted fields, in groups, in ASCII. */

export interface Heading {
  name: string;
  unit: string;
  /** As in group TYPE: X, ID, PA, DT, 2DP … */
  type: string;
}

export type AgsRow = Record<string, string | null>;

export interface AgsGroup {
  name: string;
  headings: readonly Heading[];
  rows: readonly AgsRow[];
}

/** Letters that do not decompose into an ASCII letter and an accent, and technical symbols. */
const SPELT: Record<string, string> = {
  ...{
    ß: 'ss',
    æ: 'ae',
    Æ: 'AE',
    œ: 'oe',
    Œ: 'OE',
    ø: 'o',
    Ø: 'O',
    ł: 'l',
    Ł: 'L',
    đ: 'd',
    Đ: 'D',
    ð: 'd',
    þ: 'th',
  },
  ...{
    '–': '-',
    '—': '-',
    '‘': "'",
    '’': "'",
    '“': '"',
    '”': '"',
    '„': '"',
    '…': '...',
    '°': ' deg',
    '±': '+/-',
  },
  ...{ '²': '2', '³': '3', '×': 'x', '·': '.', µ: 'u', μ: 'u', '≤': '<=', '≥': '>=', '€': 'EUR' },
};

const UNKNOWN = '?';

/** A text in ASCII on one line (rules 1 and 6): accents are dropped, characters without a spelling become question marks. */
export const ascii = (text: string): string =>
  [...text]
    .map((letter) => SPELT[letter] ?? letter)
    .join('')
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/\p{C}+/gu, ' ')
    .replace(/[^\x20-\x7e]/gu, UNKNOWN);

const field = (text: string): string => `"${ascii(text).replaceAll('"', '""')}"`;

const line = (...fields: string[]): string => `${fields.map(field).join(',')}\r\n`;

/** The text of a group; groups without rows are left out (rule 2). */
const groupText = ({ name, headings, rows }: AgsGroup): string =>
  [
    line('GROUP', name),
    line('HEADING', ...headings.map((heading) => heading.name)),
    line('UNIT', ...headings.map(({ unit }) => unit)),
    line('TYPE', ...headings.map(({ type }) => type)),
    ...rows.map((row) => line('DATA', ...headings.map((heading) => row[heading.name] ?? ''))),
  ].join('');

export const agsText = (groups: readonly AgsGroup[]): string =>
  groups
    .filter(({ rows }) => rows.length > 0)
    .map(groupText)
    .join('\r\n');
