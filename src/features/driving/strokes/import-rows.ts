import { shown } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-places.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { metresText } from '../../../engineering/chainage.js';
import type { MeasuredBoring } from '../../../engineering/stroke-values.js';
import { isPastMillimetre, readInstant, readNumber, readPosition, readReading } from './import-cells.js';
import type { Columns, Reading, StrokeField } from './import-map.js';

/** A stroke in its canonical form: driven millimetres, milliseconds, null where nothing was said. */
export interface StrokeValues extends MeasuredBoring {
  number: number;
  fromMm: number;
  toMm: number;
  startedAt: number | null;
  endedAt: number | null;
  gripperPressureBar: number | null;
  muckMassT: string | null;
}

export interface RowFault {
  /** field of the map; '' for the row as a whole */
  field: StrokeField | '';
  value: unknown;
  detail: string;
  /** it meets what stands on the drive; false: the row is wrong in itself */
  conflict: boolean;
}

/** A row of the table on its way: as read, with what was found against it and what was done to it. */
export interface ImportRow {
  line: number;
  /** null when it cannot be read */
  number: number | null;
  /** null when any cell cannot be read */
  stroke: StrokeValues | null;
  faults: RowFault[];
  notes: string[];
  outcome: 'created' | 'unchanged';
}

/** How positions are read and written back: by the fields of the map. */
export interface PlaceWords {
  from: StrokeField;
  to: StrokeField;
  say(field: StrokeField, mm: number): string;
  /** which row, after the number of its stroke */
  row(row: ImportRow): string;
}

export const placeWords = (columns: Columns, frame: DriveFrame): PlaceWords => ({
  from: columns.has('fromChainage') ? 'fromChainage' : 'fromM',
  to: columns.has('toChainage') ? 'toChainage' : 'toM',
  say: (field, mm) => (field.endsWith('Chainage') ? frame.chainage(mm) : metresText(mm)),
  row: ({ line }) => `on line ${line}`,
});

/** A row of the table with the cells of the columns that are read. */
export interface StrokeTableRow {
  line: number;
  /** how many cells it has in the file */
  width: number;
  cells: string[];
  /** why cells cannot be read, by their places */
  broken?: (string | null)[];
}

/** A table of strokes, as far as it is read. */
export interface StrokeTable {
  /** how many headings it has */
  headings: number;
  /** places of the fields among the cells that are read */
  columns: [StrokeField, { index: number; factor: number }][];
  rows: StrokeTableRow[];
  forms: TableForms;
}

class RowReader {
  readonly faults: RowFault[] = [];
  readonly notes: string[] = [];

  constructor(
    private readonly cells: string[],
    private readonly columns: Columns,
    private readonly broken: StrokeTableRow['broken'] = [],
  ) {}

  text(field: StrokeField): string {
    const index = this.columns.get(field)?.index;
    return index === undefined ? '' : (this.cells[index] ?? '').trim();
  }

  fault(field: StrokeField | '', value: unknown, detail: string): void {
    this.faults.push({ field, value: shown(value), detail, conflict: false });
  }

  /** The cell's value; null when it is empty or at fault. */
  read<T>(field: StrokeField, reader: (text: string) => T): T | null {
    const text = this.text(field);
    if (text === '') return null;
    const broken = this.broken?.[this.columns.get(field)?.index ?? -1];
    if (broken != null) {
      this.fault(field, text, broken);
      return null;
    }
    try {
      return reader(text);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      const said = error.message.replace(/\.$/, '').replace(/^(metres|chainage) /, `${field} `);
      this.fault(field, text, said);
      return null;
    }
  }

  needed<T>(field: StrokeField, reader: (text: string) => T): T | null {
    if (this.text(field) === '') this.fault(field, '', `${field} is missing`);
    return this.read(field, reader);
  }

  reading(field: Reading): number | null {
    return this.read(field, (text) => readReading(text, field, this.columns.get(field)?.factor ?? 1));
  }

  position(field: StrokeField, frame: DriveFrame, words: PlaceWords): number | null {
    const mm = this.needed(field, (text) => readPosition(text, frame, field.endsWith('Chainage')));
    const text = this.text(field);
    if (mm !== null && isPastMillimetre(text))
      this.notes.push(`${field} ${text} read as ${words.say(field, mm)}`);
    return mm;
  }

  times(): { startedAt: number | null; endedAt: number | null } {
    const startedAt = this.read('startedAt', readInstant);
    const endedAt = this.read('endedAt', readInstant);
    const [start, end] = [this.text('startedAt'), this.text('endedAt')];
    if ((start === '') !== (end === '')) {
      const [given, missing] =
        end === '' ? (['startedAt', 'endedAt'] as const) : (['endedAt', 'startedAt'] as const);
      this.fault(missing, '', `the row gives ${given} without ${missing}: give both or neither`);
    } else if (startedAt !== null && endedAt !== null && endedAt <= startedAt)
      this.fault('endedAt', end, `it ends at ${end}, which is not after its start at ${start}`);
    return { startedAt, endedAt };
  }
}

const readRow = (
  { line, width, cells, broken }: StrokeTableRow,
  columns: Columns,
  headings: number,
  frame: DriveFrame,
  words: PlaceWords,
): ImportRow => {
  const reader = new RowReader(cells, columns, broken);
  const row = { line, faults: reader.faults, notes: reader.notes, outcome: 'created' as const };
  if (width !== headings) {
    reader.fault('', width, `line ${line} has ${width} columns, but the heading row has ${headings}`);
    return { ...row, number: null, stroke: null };
  }
  const number = reader.needed('number', readNumber);
  const fromMm = reader.position(words.from, frame, words);
  const toMm = reader.position(words.to, frame, words);
  if (fromMm !== null && toMm !== null && toMm <= fromMm) {
    const way =
      words.to === 'toM'
        ? 'driven metres must rise'
        : `the drive runs with ${frame.direction === 1 ? 'rising' : 'falling'} chainage`;
    reader.fault(
      words.to,
      reader.text(words.to),
      `${words.say(words.to, toMm)} does not lie ahead of ${words.say(words.from, fromMm)}: ${way}`,
    );
  }
  const muckMassT = reader.reading('muckMassT');
  const stroke = {
    ...reader.times(),
    thrustKn: reader.reading('thrustKn'),
    torqueKnm: reader.reading('torqueKnm'),
    rotationRpm: reader.reading('rotationRpm'),
    penetrationMmPerRev: reader.reading('penetrationMmPerRev'),
    gripperPressureBar: reader.reading('gripperPressureBar'),
    muckMassT: muckMassT === null ? null : muckMassT.toFixed(3),
  };
  const sound = reader.faults.length === 0 && number !== null && fromMm !== null && toMm !== null;
  return { ...row, number, stroke: sound ? { number, fromMm, toMm, ...stroke } : null };
};

/** The rows of a table, each judged by itself and by the drive's start and end. */
export const readRowsOf = (
  { headings, columns, rows }: StrokeTable,
  frame: DriveFrame,
  words: PlaceWords,
): ImportRow[] => {
  const placed: Columns = new Map(columns);
  return rows.map((row) => readRow(row, placed, headings, frame, words));
};
