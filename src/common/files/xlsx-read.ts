import path from 'node:path';
import { readXml } from './xml.js';
import { ZipFile } from './zip.js';

/** The value of a cell; numbers as written, without conversion to binary fractions. */
export type SheetValue =
  | { kind: 'text'; text: string }
  | { kind: 'number'; text: string }
  /** a day, or a moment in local time: 2027-03-01, 2027-03-01T06:00:00 */
  | { kind: 'date'; text: string }
  /** a truth value or an error such as #REF! */
  | { kind: 'other'; text: string }
  /** a formula stored without its value */
  | { kind: 'uncomputed'; text: string };

export interface SheetRow {
  /** its number in the sheet, 1 for the first */
  line: number;
  /** by column, 0 for A */
  cells: Map<number, SheetValue>;
}

export interface Sheet {
  name: string;
  rows: SheetRow[];
  /** ranges of merged cells, such as A1:C1 */
  merged: string[];
}

/** Limit on all unpacked parts; a bill of thousands of items has one or two MB. */
const UNPACKED_LIMIT_BYTES = 40 * 1024 * 1024;
const MOST_CELLS = 200_000;
const MOST_COLUMNS = 16_384;
const MOST_ROWS = 1_048_576;
const MOST_MERGED = 10_000;
const MOST_SHARED = 200_000;
/** Characters of a cell, by the limit of spreadsheets, and of all cells of a sheet. */
const CELL_CHARACTERS = 32_767;
const SHEET_CHARACTERS = 20_000_000;

/** By number of the column, 0 for A. */
export const columnName = (column: number): string => {
  const last = String.fromCharCode(65 + (column % 26));
  return column < 26 ? last : columnName(Math.floor(column / 26) - 1) + last;
};

/** Column and row of a cell, from 0 and from 1. @throws RangeError for what is not a cell of a sheet */
export const cellPlace = (reference: string): { column: number; line: number } => {
  const [, letters, digits] = /^([A-Z]{1,3})([1-9]\d{0,6})$/.exec(reference) ?? [];
  let column = 0;
  for (const letter of letters ?? '') column = column * 26 + letter.charCodeAt(0) - 64;
  const line = Number(digits);
  if (letters === undefined || column > MOST_COLUMNS || line > MOST_ROWS)
    throw new RangeError(`"${reference.slice(0, 20)}" is not a cell of a sheet`);
  return { column: column - 1, line };
};

/** Decodes characters that XML cannot contain: _x000D_. */
const decoded = (text: string): string =>
  text.replace(/_x([0-9A-Fa-f]{4})_/g, (_, code: string) => String.fromCharCode(parseInt(code, 16)));

const tooLong = (): RangeError =>
  new RangeError(`the text of a cell is longer than ${CELL_CHARACTERS} characters`);

const readShared = (bytes: Buffer): string[] => {
  const strings: string[] = [];
  let text = '';
  let depth = { t: 0, rPh: 0 };
  readXml(bytes, {
    open: (name) => {
      if (name === 'si') {
        text = '';
        depth = { t: 0, rPh: 0 };
      } else if (name === 't' || name === 'rPh') depth[name] += 1;
    },
    text: (part) => {
      if (depth.t === 0 || depth.rPh > 0) return; // not its phonetic reading
      text += part;
      if (text.length > CELL_CHARACTERS) throw tooLong();
    },
    close: (name) => {
      if (name === 'si') {
        strings.push(decoded(text));
        if (strings.length > MOST_SHARED)
          throw new RangeError(`it shares more than ${MOST_SHARED} texts among its cells`);
      } else if (name === 't' || name === 'rPh') depth[name] -= 1;
    },
  });
  return strings;
};

/** How numbers of a style are displayed; undefined: as numbers. */
type DateStyle = 'day' | 'moment' | undefined;

/** What is shared by the cells of a workbook. */
interface Book {
  shared: string[];
  /** by style: whether its numbers are shown as days or moments */
  dateStyles: DateStyle[];
  /** days count from 1904 instead of 1900 */
  starts1904: boolean;
}

const DAY_MS = 86_400_000;

/**
 * A date as spreadsheets count it: in days that include the non-existent 29 February 1900 (ECMA-376, 18.17.4.1). Days before March
 * 1900 stay numbers, and so do times of day.
 */
const dateOf = (value: string, shownAs: 'day' | 'moment', starts1904: boolean): string | undefined => {
  const days = Number(value);
  if (!(days >= (starts1904 ? 1 : 61) && days < 2_958_466)) return undefined;
  const first = starts1904 ? Date.UTC(1904, 0, 1) : Date.UTC(1899, 11, 30);
  const seconds = Math.round((days % 1) * 86_400); // the time of day is a binary fraction
  const moment = new Date(first + Math.floor(days) * DAY_MS + seconds * 1000).toISOString();
  return days % 1 === 0 && shownAs === 'day' ? moment.slice(0, 10) : moment.slice(0, 19);
};

/** Built-in date formats, which have no format text in the file (ECMA-376, 18.8.30). */
const numberedStyle = (id: number): DateStyle => {
  if (id === 22) return 'moment';
  return (id >= 14 && id <= 17) || (id >= 27 && id <= 36) || (id >= 50 && id <= 58) ? 'day' : undefined;
};

/** The date style of a format; its quoted and bracketed parts do not count. */
const styleOf = (format: string): DateStyle => {
  const [shown = ''] = format.replace(/"[^"]*"|\\.|\[[^\]]*\]|_.|\*./g, '').split(';');
  if (!/[yd]/i.test(shown)) return undefined;
  return /h/i.test(shown) ? 'moment' : 'day';
};

/** The date style of each cell style. */
const readDateStyles = (bytes: Buffer): DateStyle[] => {
  const formats = new Map<number, string>();
  const styles: DateStyle[] = [];
  let inCells = false;
  readXml(bytes, {
    open: (tag, { numFmtId = '0', formatCode = '' }) => {
      if (tag === 'numFmt') formats.set(Number(numFmtId), formatCode);
      else if (tag === 'cellXfs') inCells = true;
      else if (tag === 'xf' && inCells) {
        const format = formats.get(Number(numFmtId));
        styles.push(format === undefined ? numberedStyle(Number(numFmtId)) : styleOf(format));
      }
    },
    close: (tag) => {
      if (tag === 'cellXfs') inCells = false;
    },
  });
  return styles;
};

interface Open {
  column: number;
  type: string;
  shownAs: DateStyle;
  value: string;
  hasValue: boolean;
  formula: boolean;
}

const valueOf = (
  { type, shownAs, value, hasValue, formula }: Open,
  { shared, starts1904 }: Book,
): SheetValue | undefined => {
  if (formula && (!hasValue || (value === '' && type !== 'str'))) return { kind: 'uncomputed', text: '' };
  if (!hasValue) return undefined;
  if (type === 's') {
    const text = shared[Number(value)];
    if (text === undefined) throw new RangeError(`it has no shared text ${value.slice(0, 20)}`);
    return { kind: 'text', text };
  }
  if (type === 'str' || type === 'inlineStr') return { kind: 'text', text: decoded(value) };
  if (type === 'b') return { kind: 'other', text: value === '1' ? 'TRUE' : 'FALSE' };
  if (type === 'd') return { kind: 'date', text: value.trim() };
  if (type !== 'n') return { kind: 'other', text: value };
  if (value === '') return undefined;
  const date = shownAs ? dateOf(value, shownAs, starts1904) : undefined;
  return date === undefined ? { kind: 'number', text: value.trim() } : { kind: 'date', text: date };
};

const readSheet = (bytes: Buffer, name: string, book: Book): Sheet => {
  const rows: SheetRow[] = [];
  const merged: string[] = [];
  let cells = 0;
  let characters = 0; // a shared text counts in every cell that uses it
  let line = 0;
  let column = 0;
  let row: SheetRow | undefined;
  let cell: Open | undefined;
  let taking: 'v' | 't' | undefined;
  let pronounced = 0;
  readXml(bytes, {
    open: (tag, attributes) => {
      if (tag === 'row') {
        line = attributes['r'] === undefined ? line + 1 : Number(attributes['r']);
        if (!Number.isInteger(line) || line < 1 || line > MOST_ROWS)
          throw new RangeError(`row ${String(attributes['r']).slice(0, 20)} is not a row of a sheet`);
        row = { line, cells: new Map() };
        column = -1;
      } else if (tag === 'c' && row) {
        column = attributes['r'] === undefined ? column + 1 : cellPlace(attributes['r']).column;
        const shownAs = book.dateStyles[Number(attributes['s'] ?? 0)];
        cell = { column, type: attributes['t'] ?? 'n', shownAs, value: '', hasValue: false, formula: false };
        if ((cells += 1) > MOST_CELLS) throw new RangeError(`its sheet has more than ${MOST_CELLS} cells`);
      } else if (tag === 'f' && cell) cell.formula = true;
      else if (tag === 'rPh') pronounced += 1;
      else if ((tag === 'v' || tag === 't') && cell) {
        taking = tag;
        cell.hasValue = true;
      } else if (tag === 'mergeCell') {
        merged.push(attributes['ref'] ?? '');
        if (merged.length > MOST_MERGED) throw new RangeError(`it merges more than ${MOST_MERGED} cells`);
      }
    },
    text: (part) => {
      if (!cell || !taking || pronounced > 0) return;
      cell.value += part;
      if (cell.value.length > CELL_CHARACTERS) throw tooLong();
    },
    close: (tag) => {
      if (tag === taking) taking = undefined;
      else if (tag === 'rPh') pronounced -= 1;
      else if (tag === 'c' && cell && row) {
        const value = valueOf(cell, book);
        if (value) row.cells.set(cell.column, value);
        if ((characters += value?.text.length ?? 0) > SHEET_CHARACTERS)
          throw new RangeError(`the cells of its sheet hold more than ${SHEET_CHARACTERS} characters`);
        cell = undefined;
      } else if (tag === 'row' && row) {
        if (row.cells.size > 0) rows.push(row);
        row = undefined;
      }
    },
  });
  return { name, rows, merged };
};

interface Relation {
  type: string;
  target: string;
}

/** The relationships of a part, by id; those that lead outside the workbook are never followed. */
const relationsOf = (zip: ZipFile, part: string): Map<string, Relation> => {
  const relations = new Map<string, Relation>();
  const { dir, base } = path.posix.parse(part);
  const name = path.posix.join(dir, '_rels', `${base}.rels`);
  if (!zip.has(name)) return relations;
  readXml(zip.read(name), {
    open: (tag, { Id = '', Type = '', Target = '', TargetMode }) => {
      if (tag !== 'Relationship' || TargetMode === 'External') return;
      const from = Target.startsWith('/') ? '/' : `/${dir}`;
      relations.set(Id, {
        type: Type.slice(Type.lastIndexOf('/') + 1),
        target: path.posix.join(from, Target).slice(1),
      });
    },
  });
  return relations;
};

interface Listed {
  name: string;
  id: string;
  hidden: boolean;
}

const sheetsOf = (bytes: Buffer): { sheets: Listed[]; starts1904: boolean } => {
  const sheets: Listed[] = [];
  let starts1904 = false;
  readXml(bytes, {
    open: (tag, attributes) => {
      if (tag === 'workbookPr') starts1904 = ['1', 'true'].includes(attributes['date1904'] ?? '');
      if (tag !== 'sheet') return;
      const id = Object.entries(attributes).find(([name]) => /(^|:)id$/.test(name))?.[1] ?? '';
      sheets.push({
        name: attributes['name'] ?? '',
        id,
        hidden: (attributes['state'] ?? 'visible') !== 'visible',
      });
    },
  });
  return { sheets, starts1904 };
};

/** The sheet of a template that lists the allowed codes; not a table to read. */
export const CODES_SHEET = 'Codes';

const listed = (sheets: Listed[]): string => sheets.map(({ name }) => `"${name}"`).join(', ');

/** The sheet with this name; without a name, the only visible one. @throws RangeError with a message for the user */
const chosen = (sheets: Listed[], wanted: string | undefined): Listed => {
  if (wanted !== undefined) {
    const named = sheets.find(({ name }) => name === wanted);
    if (named) return named;
    throw new RangeError(`it has no sheet "${wanted}"; its sheets are ${listed(sheets)}`);
  }
  const visible = sheets.filter(({ name, hidden }) => !hidden && name !== CODES_SHEET);
  const [only, another] = visible;
  if (!only) throw new RangeError('it has no visible sheet');
  if (another) throw new RangeError(`it has several sheets, ${listed(visible)}: name one by sheet`);
  return only;
};

/**
 * Reads one sheet of a workbook (ECMA-376, SpreadsheetML): values only. Formats only decide whether a number is a date; macros,
 * pictures and links are ignored.
 * @param wanted  name of the sheet; required when several are visible
 * @throws RangeError with a message for the user when it cannot be read
 */
export const readXlsx = (file: Buffer, wanted?: string): Sheet => {
  const zip = new ZipFile(file, UNPACKED_LIMIT_BYTES);
  const main = [...relationsOf(zip, '').values()].find(({ type }) => type === 'officeDocument');
  if (!main) throw new RangeError('it is not a workbook');
  const { sheets, starts1904 } = sheetsOf(zip.read(main.target));
  const relations = relationsOf(zip, main.target);
  const sheet = chosen(sheets, wanted);
  const part = relations.get(sheet.id);
  if (part?.type !== 'worksheet') throw new RangeError(`its sheet "${sheet.name}" is not a table`);
  const target = (wantedType: string): string | undefined =>
    [...relations.values()].find(({ type }) => type === wantedType)?.target;
  const [strings, styles] = [target('sharedStrings'), target('styles')];
  return readSheet(zip.read(part.target), sheet.name, {
    shared: strings === undefined ? [] : readShared(zip.read(strings)),
    dateStyles: styles === undefined || !zip.has(styles) ? [] : readDateStyles(zip.read(styles)),
    starts1904,
  });
};
