import { faulty, type ProblemError, shown } from '../../api/problem.js';

/** The formats of a table, declared or detected; absent where the table has no such values. */
export interface TableForms {
  file: 'csv' | 'xlsx';
  /** of a CSV file */
  encoding?: Encoding;
  /** of a CSV file: comma, semicolon, tab or pipe */
  delimiter?: string;
  /** of a workbook */
  sheet?: string;
  decimal?: Decimal;
  dates?: DateOrder;
  timeZone?: string;
  chainages?: ChainageForm;
}

export const ENCODINGS = ['utf-8', 'utf-16le', 'utf-16be', 'windows-1252'] as const;
export type Encoding = (typeof ENCODINGS)[number];

export const DECIMALS = ['point', 'comma'] as const;
export type Decimal = (typeof DECIMALS)[number];

export const DATE_ORDERS = ['ymd', 'dmy', 'mdy'] as const;
export type DateOrder = (typeof DATE_ORDERS)[number];

export const CHAINAGE_FORMS = ['km+m', 'm', 'km'] as const;
export type ChainageForm = (typeof CHAINAGE_FORMS)[number];

/** The possible column delimiters, also by name: some of the characters have another meaning on command lines and in forms. */
export const DELIMITERS: Record<string, string> = { comma: ',', semicolon: ';', tab: '\t', pipe: '|' };

export const delimiterName = (delimiter: string): string =>
  Object.keys(DELIMITERS).find((name) => DELIMITERS[name] === delimiter) ?? delimiter;

export const refused = (pointer: string, value: unknown, detail: string): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer, value: shown(value), detail }]);

/** @throws ProblemError invalid for a character that is not a column delimiter */
export const readDelimiter = (text = ','): string => {
  const delimiter = (Object.hasOwn(DELIMITERS, text) ? DELIMITERS[text] : text) ?? text;
  if (Object.values(DELIMITERS).includes(delimiter)) return delimiter;
  throw refused(
    '/delimiter',
    text,
    'the delimiter must be , ; | or a tab, or one of comma, semicolon, pipe, tab',
  );
};

/** @throws ProblemError invalid for a heading row of one column that another delimiter would split */
export const assertDelimiter = (headings: string[], delimiter: string): void => {
  const other = Object.entries(DELIMITERS).find(([, character]) => headings[0]?.includes(character));
  if (headings.length !== 1 || !other) return;
  throw refused(
    '/delimiter',
    delimiter,
    `with ${delimiterName(delimiter)} as the delimiter the heading row is one column; it holds a ${other[0]}: name the delimiter that the file uses`,
  );
};

/** One of the words that a request may declare. @throws ProblemError invalid for any other */
export const oneOfForms = <T extends string>(
  field: string,
  text: string | undefined,
  allowed: readonly T[],
): T | undefined => {
  if (text === undefined) return undefined;
  const found = allowed.find((each) => each === text.toLowerCase());
  if (found) return found;
  throw refused(`/${field}`, text, `${field} must be one of ${allowed.join(', ')}`);
};
