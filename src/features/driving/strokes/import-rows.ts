import { shown } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-places.js';
import type { GivenRow, GivenTable } from '../../../common/imports/together.js';
import { moment } from '../../../common/words.js';
import { metresText } from '../../../engineering/chainage.js';
import type { MeasuredBoring } from '../../../engineering/stroke-values.js';
import { isPastMillimetre, readInstant, readNumber, readPosition, readReading } from './import-cells.js';
import type { ImportContext } from './read-context.js';
import type { Reading, StrokeField } from './stroke-fields.js';

/** A stroke in canonical form: driven millimetres, milliseconds, null where nothing was given. */
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
  /** '' for the row as a whole */
  field: StrokeField | '';
  value: unknown;
  detail: string;
  /** it conflicts with an existing stroke; false: the row itself is wrong */
  conflict: boolean;
}

export interface RowChange {
  field: StrokeField;
  from: string;
  to: string;
}

/** A row of the table being processed: as read, with its faults and the changes made to it. */
export interface ImportRow {
  line: number;
  /** null when it cannot be read */
  number: number | null;
  /** null when any cell cannot be read */
  stroke: StrokeValues | null;
  faults: RowFault[];
  /** how it changes the stroke imported before */
  changes: RowChange[];
  notes: string[];
  outcome: 'created' | 'unchanged' | 'updated';
}

/** How positions are read and written: according to the columns of the table; and moments, by the clock of the project. */
export interface PlaceWords {
  from: StrokeField;
  to: StrokeField;
  say(field: StrokeField, mm: number): string;
  moment(ms: number): string;
  /** identifies a row, after the number of its stroke */
  row(row: ImportRow): string;
}

export const placeWords = (
  fields: readonly string[],
  { frame, timeZone }: Pick<ImportContext, 'frame' | 'timeZone'>,
): PlaceWords => ({
  from: fields.includes('from') ? 'from' : 'fromM',
  to: fields.includes('to') ? 'to' : 'toM',
  say: (field, mm) => (field === 'from' || field === 'to' ? frame.chainage(mm) : metresText(mm)),
  moment: (ms) => moment(ms, timeZone),
  row: ({ line }) => `on line ${line}`,
});

class RowReader {
  readonly faults: RowFault[] = [];
  readonly notes: string[] = [];

  constructor(
    private readonly cells: GivenRow['cells'],
    private readonly fields: readonly string[],
  ) {}

  private cell(field: StrokeField): GivenRow['cells'][number] | undefined {
    return this.cells[this.fields.indexOf(field)];
  }

  text(field: StrokeField): string {
    return this.cell(field)?.text.trim() ?? '';
  }

  fault(field: StrokeField | '', value: unknown, detail: string): void {
    this.faults.push({ field, value: shown(value), detail, conflict: false });
  }

  /** The cell's value; null if it is empty or invalid. */
  read<T>(field: StrokeField, reader: (text: string) => T): T | null {
    const text = this.text(field);
    const broken = this.cell(field)?.fault;
    if (broken !== undefined) {
      this.fault(field, text, broken);
      return null;
    }
    if (text === '') return null;
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
    if (this.text(field) === '' && this.cell(field)?.fault === undefined)
      this.fault(field, '', `${field} is missing`);
    return this.read(field, reader);
  }

  reading(field: Reading): number | null {
    return this.read(field, (text) => readReading(text, field));
  }

  position(field: StrokeField, frame: DriveFrame, words: PlaceWords): number | null {
    const mm = this.needed(field, (text) => readPosition(text, frame, field === 'from' || field === 'to'));
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
  { line, cells, broken }: GivenRow,
  fields: readonly string[],
  frame: DriveFrame,
  words: PlaceWords,
): ImportRow => {
  const reader = new RowReader(cells, fields);
  const row = { line, faults: reader.faults, changes: [], notes: reader.notes, outcome: 'created' as const };
  if (broken !== undefined) {
    reader.fault('', undefined, broken);
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

/** The rows of a table, each validated by itself and against the ends of the drive. */
export const readRowsOf = ({ fields, rows }: GivenTable, frame: DriveFrame, words: PlaceWords): ImportRow[] =>
  rows.map((row) => readRow(row, fields, frame, words));
