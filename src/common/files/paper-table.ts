import { setImmediate } from 'node:timers/promises';
import type { Paper, PaperFont } from './paper.js';
import { isRest, type PaperColumn, placeColumns, type PlacedColumn, pointOf } from './paper-columns.js';

export type PaperRow =
  /** above the rows that follow; kept on the same page as the first of them */
  | { kind: 'heading'; text: string }
  /** `note` is printed below the widest text; `carried`: the sums, from the second column on, with which the next page begins if this one ends here */
  | { kind: 'line'; cells: string[]; note?: string; carried?: string[] }
  | { kind: 'total'; cells: string[] };

type FiguresRow = Exclude<PaperRow, { kind: 'heading' }>;

export interface PaperArea {
  x: number;
  width: number;
  /** on the pages after the first */
  top: number;
  bottom: number;
}

const INDENT = 3;
/** A row of at least this many lines may be split between two pages. */
const SPLIT_FROM = 12;
/** Other work gets a turn after this many rows. */
const BREATH = 40;

const fontOf = ({ kind }: PaperRow): PaperFont => (kind === 'line' ? 'normal' : 'bold');

/** A table over as many pages as it needs, with headings on each and sums carried forward. */
export class PaperTable {
  private readonly columns: PlacedColumn[];
  private readonly size: number;
  /** line spacing [pt] */
  private readonly step: number;
  /** above and below the lines of a row [pt] */
  private readonly padding: number;
  /** lines of the titles, including the spanning ones above */
  private readonly headLines: number;
  private carried: string[] | undefined;
  private y = 0;

  /** @param newPage  begins a page and draws what is above the table */
  constructor(
    private readonly paper: Paper,
    columns: PaperColumn[],
    private readonly rows: PaperRow[],
    private readonly area: PaperArea,
    private readonly newPage: () => void,
    { isCompact = false }: { isCompact?: boolean } = {},
  ) {
    const written = rows.flatMap((row) => {
      if (row.kind === 'heading') return [];
      const cells = [{ cells: row.cells, font: fontOf(row) }];
      if (row.kind === 'line' && row.carried) cells.push({ cells: ['', ...row.carried], font: 'bold' });
      return cells;
    });
    const inner = { x: area.x + INDENT, width: area.width - 2 * INDENT };
    const { size, columns: placed } = placeColumns(paper, columns, written, inner, isCompact);
    this.size = size;
    this.columns = placed;
    this.step = size * (isCompact ? 1.2 : 1.3);
    this.padding = isCompact ? 0.9 : 1.5;
    const titleLines = placed.map(({ title, width }) => paper.wrapped(title, width, 'bold', size).length);
    this.headLines = isCompact ? Math.max(...titleLines) + 0.4 : 4.3;
  }

  /** Height of the head and the first row, which stay together. [pt] */
  get leastHeight(): number {
    return this.headHeight + this.heightFrom(0) + this.step + 4;
  }

  /** @returns y of its end */
  async draw(from: number): Promise<number> {
    this.y = from;
    if (this.hasRoom(this.headHeight + this.heightFrom(0))) this.head();
    else this.turn();
    for (const [index, row] of this.rows.entries()) {
      if (index % BREATH === BREATH - 1) await setImmediate();
      if (row.kind !== 'heading') this.row(row);
      else {
        if (!this.hasRoom(this.heightFrom(index))) this.turn();
        this.heading(row.text);
      }
    }
    return this.y;
  }

  private get headHeight(): number {
    return this.headLines * this.step;
  }

  /** Always reserves one line for the sums carried forward. */
  private hasRoom(height: number): boolean {
    return this.y + height <= this.area.bottom - this.step - 4;
  }

  /** Height of the row at the index, with the rows that must stay with it. */
  private heightFrom(index: number): number {
    let height = 0;
    for (const row of this.rows.slice(index)) {
      if (row.kind !== 'heading') return height + this.together(this.linesOf(row).length);
      height += this.headingLines(row.text).length * this.step + 5;
    }
    return height;
  }

  private together(lines: number): number {
    return (lines > SPLIT_FROM ? 4 : lines) * this.step + 3;
  }

  private turn(): void {
    if (this.carried) {
      this.rule(this.y, 0.7);
      this.cells(['Carried forward', ...this.carried], this.y + 2, 'bold');
    }
    this.newPage();
    this.y = this.area.top;
    this.head();
    if (!this.carried) return;
    this.cells(['Brought forward', ...this.carried], this.y + 2, 'bold');
    this.y += this.step + 4;
    this.rule(this.y, 0.3);
  }

  private head(): void {
    const { x, width } = this.area;
    this.paper.shade(x, this.y, width, this.headHeight, '#e2e6ea');
    for (const [index, column] of this.columns.entries()) {
      const lines = this.paper.wrapped(column.title, column.width, 'bold', this.size);
      const right = column.kind === 'number';
      const top = this.y + this.headHeight - lines.length * this.step - 2;
      for (const [line, text] of lines.entries())
        this.paper.write(text, right ? column.x + column.width : column.x, top + line * this.step, {
          font: 'bold',
          size: this.size,
          align: right ? 'right' : 'left',
        });
      if (column.over !== undefined && this.columns[index - 1]?.over !== column.over) this.over(column.over);
    }
    this.y += this.headHeight;
    this.rule(this.y, 0.8);
  }

  /** Draws a title that spans several columns. */
  private over(text: string): void {
    const under = this.columns.filter(({ over }) => over === text);
    const left = Math.min(...under.map(({ x }) => x));
    const right = Math.max(...under.map(({ x, width }) => x + width));
    this.paper.write(text, (left + right) / 2, this.y + 2, {
      font: 'bold',
      size: this.size,
      align: 'center',
    });
    this.paper.rule(left, this.y + this.step + 2, right - left, 0.4);
  }

  private headingLines(text: string): string[] {
    return this.paper.wrapped(text, this.area.width - 2 * INDENT, 'bold', this.size);
  }

  private heading(text: string): void {
    const lines = this.headingLines(text);
    const height = lines.length * this.step + 4;
    this.paper.shade(this.area.x, this.y + 0.5, this.area.width, height, '#f1f3f4');
    for (const [line, words] of lines.entries())
      this.paper.write(words, this.area.x + INDENT, this.y + 2 + line * this.step, {
        font: 'bold',
        size: this.size,
      });
    this.y += height + 1;
  }

  /** The lines of a row, with the text of each column. */
  private linesOf(row: FiguresRow): { texts: string[]; font: PaperFont }[] {
    const font = fontOf(row);
    const wrapped = this.columns.map(({ kind, width }, index) => {
      const text = row.cells[index] ?? '';
      return kind === 'text' ? this.paper.wrapped(text, width, font, this.size) : [text];
    });
    const lines: { texts: string[]; font: PaperFont }[] = Array.from(
      { length: Math.max(...wrapped.map(({ length }) => length)) },
      (_, line) => ({ texts: wrapped.map((texts) => texts[line] ?? ''), font }),
    );
    if (row.kind === 'total' || row.note === undefined) return lines;
    const width = this.columns.find(isRest)?.width ?? 0;
    const notes = this.paper.wrapped(row.note, width, 'oblique', this.size);
    const under = (text: string): string[] => this.columns.map((column) => (isRest(column) ? text : ''));
    return [...lines, ...notes.map((text) => ({ texts: under(text), font: 'oblique' as const }))];
  }

  private row(row: FiguresRow): void {
    const lines = this.linesOf(row);
    const isTotal = row.kind === 'total';
    if (!this.hasRoom(this.together(lines.length))) this.turn();
    if (isTotal) this.rule(this.y, 0.6);
    this.y += this.padding;
    for (const [index, { texts, font }] of lines.entries()) {
      if (!this.hasRoom(this.step)) this.turn();
      this.cells(texts, this.y, font);
      this.y += this.step;
      if (index === 0 && row.kind === 'line') this.carried = row.carried;
    }
    this.y += this.padding;
    if (isTotal) this.rule(this.y, 0.6);
    else this.rule(this.y, 0.25, '#c8c8c8');
    if (isTotal) this.y += 4;
  }

  private cells(texts: string[], y: number, font: PaperFont): void {
    for (const [index, { kind, x, width, fraction }] of this.columns.entries()) {
      const text = texts[index] ?? '';
      if (text === '') continue;
      const before =
        kind === 'text'
          ? 0
          : width - fraction - this.paper.widthOf(text.slice(0, pointOf(text)), font, this.size);
      this.paper.write(text, x + before, y, { font, size: this.size });
    }
  }

  private rule(y: number, thickness: number, colour?: string): void {
    this.paper.rule(this.area.x, y, this.area.width, thickness, colour);
  }
}
