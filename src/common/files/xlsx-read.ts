import path from 'node:path';
import { readXml } from './xml.js';
import { ZipFile } from './zip.js';

/** What stands in a cell; numbers as they are written, without passing through binary fractions. */
export type SheetValue =
  | { kind: 'text'; text: string }
  | { kind: 'number'; text: string }
  /** a truth value or an error such as #REF! */
  | { kind: 'other'; text: string }
  /** a formula whose value was not stored with it */
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

/** Unpacked parts together; a bill of thousands of items has one or two MB. */
const UNPACKED_LIMIT_BYTES = 40 * 1024 * 1024;
const MOST_CELLS = 200_000;
const MOST_COLUMNS = 16_384;
const MOST_ROWS = 1_048_576;
const MOST_MERGED = 10_000;
const MOST_SHARED = 200_000;
/** Characters of a cell, as spreadsheets have it, and of the cells of a sheet together. */
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

/** How a workbook writes characters that XML cannot hold: _x000D_. */
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
      if (depth.t === 0 || depth.rPh > 0) return; // not how it is pronounced
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

interface Open {
  column: number;
  type: string;
  value: string;
  hasValue: boolean;
  formula: boolean;
}

const valueOf = ({ type, value, hasValue, formula }: Open, shared: string[]): SheetValue | undefined => {
  if (formula && (!hasValue || (value === '' && type !== 'str'))) return { kind: 'uncomputed', text: '' };
  if (!hasValue) return undefined;
  if (type === 's') {
    const text = shared[Number(value)];
    if (text === undefined) throw new RangeError(`it has no shared text ${value.slice(0, 20)}`);
    return { kind: 'text', text };
  }
  if (type === 'str' || type === 'inlineStr') return { kind: 'text', text: decoded(value) };
  if (type === 'b') return { kind: 'other', text: value === '1' ? 'TRUE' : 'FALSE' };
  if (type !== 'n') return { kind: 'other', text: value };
  return value === '' ? undefined : { kind: 'number', text: value.trim() };
};

const readSheet = (bytes: Buffer, name: string, shared: string[]): Sheet => {
  const rows: SheetRow[] = [];
  const merged: string[] = [];
  let cells = 0;
  let characters = 0; // a shared text counts in each cell that has it
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
        cell = { column, type: attributes['t'] ?? 'n', value: '', hasValue: false, formula: false };
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
        const value = valueOf(cell, shared);
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

/** What a part refers to, by id; what lies outside of the workbook is never followed. */
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

const sheetsOf = (bytes: Buffer): { name: string; id: string; hidden: boolean }[] => {
  const sheets: { name: string; id: string; hidden: boolean }[] = [];
  readXml(bytes, {
    open: (tag, attributes) => {
      if (tag !== 'sheet') return;
      const id = Object.entries(attributes).find(([name]) => /(^|:)id$/.test(name))?.[1] ?? '';
      sheets.push({
        name: attributes['name'] ?? '',
        id,
        hidden: (attributes['state'] ?? 'visible') !== 'visible',
      });
    },
  });
  return sheets;
};

/**
 * Reads one sheet of a workbook (ECMA-376, SpreadsheetML): values only. Formats, macros, pictures and links are passed over.
 * @param wanted  name of the sheet; the first visible one when absent
 * @throws RangeError in words when it cannot be read
 */
export const readXlsx = (file: Buffer, wanted?: string): Sheet => {
  const zip = new ZipFile(file, UNPACKED_LIMIT_BYTES);
  const main = [...relationsOf(zip, '').values()].find(({ type }) => type === 'officeDocument');
  if (!main) throw new RangeError('it is not a workbook');
  const sheets = sheetsOf(zip.read(main.target));
  const relations = relationsOf(zip, main.target);
  const sheet = sheets.find(({ name, hidden }) => (wanted === undefined ? !hidden : name === wanted));
  if (!sheet)
    throw new RangeError(
      wanted === undefined
        ? 'it has no visible sheet'
        : `it has no sheet "${wanted}"; its sheets are ${sheets.map(({ name }) => `"${name}"`).join(', ')}`,
    );
  const part = relations.get(sheet.id);
  if (part?.type !== 'worksheet') throw new RangeError(`its sheet "${sheet.name}" is not a table`);
  const strings = [...relations.values()].find(({ type }) => type === 'sharedStrings');
  const shared = strings ? readShared(zip.read(strings.target)) : [];
  return readSheet(zip.read(part.target), sheet.name, shared);
};
