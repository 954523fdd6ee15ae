import { isObject } from '../../../common/api/is-object.js';
import { type Fault, faulty, shown } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { assertDelimiter } from '../../../common/files/table/forms.js';
import { type ColumnMap, heading, placeColumns, type PlacedColumns } from './column-map.js';
import { cellsOf } from './csv-line.js';
import { readMoment, readPlace, readSampleReading } from './sample-cells.js';
import { READING_NAMES, SAMPLE_FIELDS, type SampleField } from './sample-fields.js';
import type { Line } from './sample-lines.js';

/** A sample as it is stored; readings in the order of READING_NAMES. */
export interface SampleRow {
  atMs: number;
  positionMm: number;
  readings: (number | null)[];
}

/** Why a line is rejected. */
export interface Rejection {
  line: number;
  detail: string;
}

/** Reads lines one after the other; undefined: an empty line. @throws ProblemError for a table that lacks the columns */
export interface RowReader {
  read(line: Line): SampleRow | Rejection | undefined;
}

export const isRejection = (read: SampleRow | Rejection): read is Rejection => 'detail' in read;

/** A row, or the rejection that reading its fields throws. */
const rowOr = ({ number }: Line, read: () => SampleRow): SampleRow | Rejection => {
  try {
    return read();
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return { line: number, detail: error.message.replace(/\.$/, '') };
  }
};

const needed = (field: SampleField, value: string): string => {
  if (value === '') throw new RangeError(`${field} is missing`);
  return value;
};

const refusedTable = (detail: string): Error => faulty('invalid', [{ in: 'body', pointer: '/file', detail }]);

/** Most columns of a table. */
const MOST_COLUMNS = 500;

/** Reads a CSV table: the heading row first, then one row per line. */
export class TableReader implements RowReader {
  private headings = 0;
  private columns: PlacedColumns<SampleField> | undefined;
  private readonly place: 'chainage' | 'positionM';

  constructor(
    private readonly map: ColumnMap<SampleField>,
    private readonly delimiter: string,
    private readonly frame: DriveFrame,
  ) {
    this.place = map.has('chainage') ? 'chainage' : 'positionM';
  }

  read(line: Line): SampleRow | Rejection | undefined {
    const { columns } = this;
    if (line.fault === undefined && line.text.trim() === '') return undefined;
    if (!columns) {
      this.begin(line);
      return undefined;
    }
    return rowOr(line, () => this.row(line, columns));
  }

  private begin(line: Line): void {
    if (line.fault !== undefined) throw refusedTable(`${line.fault}: the heading row cannot be read`);
    if (line.text.includes('\0'))
      throw refusedTable('the file contains NUL bytes: save the table as CSV in UTF-8');
    let headings: string[];
    try {
      headings = cellsOf(line.text, this.delimiter, MOST_COLUMNS + 1).map(heading);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      throw refusedTable(`the heading row, line ${line.number}: ${error.message}`);
    }
    if (headings.length > MOST_COLUMNS)
      throw refusedTable(`the heading row has more than ${MOST_COLUMNS} columns`);
    assertDelimiter(headings, this.delimiter);
    this.columns = placeColumns(this.map, headings);
    this.headings = headings.length;
  }

  private row(line: Line, columns: PlacedColumns<SampleField>): SampleRow {
    if (line.fault !== undefined) throw new RangeError(line.fault);
    const cells = cellsOf(line.text, this.delimiter, this.headings + 1);
    if (cells.length !== this.headings) {
      const count = cells.length > this.headings ? 'more' : `${cells.length}`;
      throw new RangeError(`the row has ${count} columns, but the heading row has ${this.headings}`);
    }
    const text = (field: SampleField): string => (cells[columns.get(field)?.index ?? -1] ?? '').trim();
    return {
      atMs: readMoment(needed('at', text('at'))),
      positionMm: readPlace(this.place, needed(this.place, text(this.place)), this.frame),
      readings: READING_NAMES.map((field) =>
        readSampleReading(field, text(field), columns.get(field)?.factor),
      ),
    };
  }
}

const isField = (name: string): name is SampleField => (SAMPLE_FIELDS as readonly string[]).includes(name);

const objectOf = (text: string): Record<string, unknown> => {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new RangeError(`the line is not JSON: ${(error as Error).message}`);
  }
  if (isObject(value)) return value;
  throw new RangeError('the line must be a JSON object');
};

/** Reads lines of JSON, one sample per line. */
export class JsonReader implements RowReader {
  constructor(private readonly frame: DriveFrame) {}

  read(line: Line): SampleRow | Rejection | undefined {
    if (line.fault === undefined && line.text.trim() === '') return undefined;
    return rowOr(line, () => {
      if (line.fault !== undefined) throw new RangeError(line.fault);
      return this.row(objectOf(line.text));
    });
  }

  private row(sample: Record<string, unknown>): SampleRow {
    const stranger = Object.keys(sample).find((name) => !isField(name));
    if (stranger !== undefined)
      throw new RangeError(
        `${String(shown(stranger))} is not a field of a sample; the fields are ${SAMPLE_FIELDS.join(', ')}`,
      );
    const place = sample['chainage'] == null ? 'positionM' : 'chainage';
    if (sample['chainage'] != null && sample['positionM'] != null)
      throw new RangeError('the sample holds both chainage and positionM: give one');
    return {
      atMs: readMoment(needed('at', textOf(sample, 'at'))),
      positionMm: readPlace(place, needed(place, textOf(sample, place)), this.frame),
      readings: READING_NAMES.map((field) => {
        const value = sample[field] ?? null;
        if (value === null || typeof value === 'number') return readSampleReading(field, value);
        throw new RangeError(`${field} is ${JSON.stringify(shown(value))}; it must be a number, or absent`);
      }),
    };
  }
}

/** Time and place may be text or numbers. */
const textOf = (sample: Record<string, unknown>, field: SampleField): string => {
  const value = sample[field] ?? '';
  if (typeof value === 'string') return value.trim();
  if (typeof value === 'number' && field !== 'at') return String(value);
  throw new RangeError(`${field} is ${JSON.stringify(shown(value))}; it must be text`);
};

export const faultsOfLines = (rejections: Rejection[]): Fault[] =>
  rejections.map(({ line, detail }) => ({ in: 'body', pointer: `/lines/${line}`, detail }));
