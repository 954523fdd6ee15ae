import type { TextWidths } from '../../../common/charts/fonts.js';
import type { Mark } from '../../../common/drawing/drawing.js';
import { unitInWords } from '../../../common/words.js';
import { GREY, THIN } from './panel.js';
import { A3, FOOT, FRAME } from './sheet-frame.js';
import type { StripTable, TableColumn } from './tables.js';

const SIZE = 2;
const STEP = 2.9;
const GAP = 2;
const HEAD = 4;
/** Text that needs more lines is truncated. */
const MOST_LINES = 4;

const LEFT = FRAME.left + 3;
const WIDTH = A3.width - FRAME.left - FRAME.right - 6;
const TOP = FRAME.top + 3;
const BOTTOM = A3.height - FRAME.bottom - FOOT - 2;

/** A table may be as wide as it needs, up to the width of the sheet. [mm per share] */
const SHARE_MM = 2.9;

interface PlacedColumn extends TableColumn {
  x: number;
  room: number;
}

const placed = (columns: TableColumn[]): PlacedColumn[] => {
  const shares = columns.reduce((sum, { width }) => sum + width, 0);
  const share = Math.min(SHARE_MM, WIDTH / shares);
  let x = LEFT;
  return columns.map((column) => {
    const place = { ...column, x, room: column.width * share - GAP };
    x += column.width * share;
    return place;
  });
};

/** Writes tables over pages, repeating title and headings on each page of a table. A page is passed on when it is full. */
class TablePages {
  private page: Mark[] | undefined;
  private y = BOTTOM;

  constructor(
    private readonly widths: TextWidths,
    private readonly handOn: (marks: Mark[]) => void,
  ) {}

  end(): void {
    if (this.page) this.handOn(this.page);
    this.page = undefined;
  }

  table(table: StripTable): void {
    const columns = placed(table.columns);
    const [firstRow] = table.rows;
    const first = firstRow ? this.linesOf(columns, firstRow).length : 1;
    if (this.y + this.headHeight(columns) + (first + 2) * STEP > BOTTOM) this.turn();
    this.head(table, columns, false);
    for (const row of table.rows) {
      const lines = this.linesOf(columns, row);
      if (this.y + lines.length * STEP > BOTTOM) {
        this.turn();
        this.head(table, columns, true);
      }
      for (const line of lines) this.line(columns, line);
      this.rule(columns, this.y, 0.06);
    }
    const more = table.count - table.rows.length;
    if (table.total) this.whole(columns, table, table.total);
    if (more > 0)
      this.note(`${more} more of ${table.count} rows: in the workbook and in the record as JSON.`);
    this.y += 4;
  }

  private headHeight(columns: PlacedColumn[]): number {
    const lines = Math.max(
      ...columns.map(({ title, room }) => this.widths.wrapped(title, room, SIZE).length),
    );
    return HEAD + 1 + lines * STEP + 1;
  }

  private whole(columns: PlacedColumn[], table: StripTable, total: string[]): void {
    if (this.y + STEP > BOTTOM) {
      this.turn();
      this.head(table, columns, true);
    }
    this.rule(columns, this.y, 0.3);
    this.line(columns, total, true);
  }

  private note(text: string): void {
    if (this.y + STEP > BOTTOM) this.turn();
    this.text(text, LEFT, false, GREY);
    this.y += STEP;
  }

  private linesOf(columns: PlacedColumn[], row: string[]): string[][] {
    const cells = columns.map(({ kind, room }, index) => {
      const text = row[index] ?? '';
      if (kind === 'number') return [text];
      if (kind === 'unit') return [unitInWords(text)];
      const lines = text.split(/\r\n?|\n/).flatMap((line) => this.widths.wrapped(line, room, SIZE));
      if (lines.length <= MOST_LINES) return lines;
      return [
        ...lines.slice(0, MOST_LINES - 1),
        this.widths.cut(`${lines.slice(MOST_LINES - 1).join(' ')}`, room, SIZE),
      ];
    });
    const height = Math.max(...cells.map(({ length }) => length));
    return Array.from({ length: height }, (_, line) => cells.map((lines) => lines[line] ?? ''));
  }

  private turn(): void {
    this.end();
    this.page = [];
    this.y = TOP;
  }

  private get marks(): Mark[] {
    if (!this.page) this.turn();
    return this.page ?? [];
  }

  private head({ name, source }: StripTable, columns: PlacedColumn[], isAgain: boolean): void {
    const marks = this.marks;
    const title = isAgain ? `${name}, continued` : name;
    marks.push({ kind: 'text', text: title, x: LEFT, y: this.y + 3, size: 2.8, isBold: true });
    const after = LEFT + this.widths.of(title, 2.8, 'bold') + 3;
    marks.push({ kind: 'text', text: source, x: after, y: this.y + 3, size: 1.7, colour: GREY });
    this.y += HEAD + 1;
    const titles = columns.map(({ title: words, room }) => this.widths.wrapped(words, room, SIZE));
    const lines = Math.max(...titles.map(({ length }) => length));
    for (let line = 0; line < lines; line += 1)
      this.line(
        columns,
        titles.map((words) => words[line - (lines - words.length)] ?? ''),
        true,
      );
    this.rule(columns, this.y, 0.3);
    this.y += 0.6;
  }

  private line(columns: PlacedColumn[], texts: string[], isBold = false): void {
    columns.forEach(({ kind, x, room }, index) => {
      const text = texts[index] ?? '';
      if (text === '') return;
      this.text(text, kind === 'number' ? x + room : x, isBold, undefined, kind === 'number');
    });
    this.y += STEP;
  }

  private text(text: string, x: number, isBold: boolean, colour?: string, isRight = false): void {
    this.marks.push({
      ...{ kind: 'text', text, x, y: this.y + 2.1, size: SIZE, isBold },
      ...(colour ? { colour } : {}),
      ...(isRight ? { anchor: 'end' as const } : {}),
    });
  }

  private rule(columns: PlacedColumn[], y: number, width: number): void {
    const last = columns.at(-1);
    const right = last ? last.x + last.room : LEFT;
    this.marks.push({
      kind: 'pieces',
      places: [
        [LEFT, y],
        [right, y],
      ],
      pen: { colour: width < 0.1 ? '#b0b0b0' : THIN.colour, width },
    });
  }
}

/** Passes on the marks of each page of the tables, one at a time, so that only one is held in memory. */
export const drawTables = (
  tables: StripTable[],
  widths: TextWidths,
  handOn: (marks: Mark[]) => void,
): void => {
  const pages = new TablePages(widths, handOn);
  for (const table of tables) pages.table(table);
  pages.end();
};
