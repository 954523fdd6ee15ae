import { Paper, type TextLook } from '../../../common/files/paper.js';
import { type PaperArea, type PaperRow, PaperTable } from '../../../common/files/paper-table.js';
import type { DailyReport } from './daily-report.models.js';
import { sheetsOf } from './sheets.js';
import type { Block, Sheet, SheetTable } from './sheet.js';

const LEFT = 34;
const WIDTH = 595.28 - 2 * LEFT;
const AREA: PaperArea = { x: LEFT, width: WIDTH, top: 56, bottom: 802 };
const FOOT = 812;

/** How much closer a signature may move to its name, to fit on the sheet of its shift. */
const CLOSER = 12;

const TITLE: TextLook = { font: 'bold', size: 8.5 };
const SMALL: TextLook = { size: 7, colour: '#333333' };

/** Draws sheets one below the other on as many pages as they need. */
class SheetDrawer {
  private y = 0;
  /** footers of the pages so far */
  readonly feet: string[] = [];
  private sheet: Sheet | undefined;

  constructor(private readonly paper: Paper) {}

  async draw(sheet: Sheet): Promise<void> {
    this.sheet = sheet;
    this.page();
    const { paper } = this;
    paper.write(sheet.title, LEFT, 26, { font: 'bold', size: 15 });
    paper.write(sheet.place, LEFT + WIDTH, 30, {
      size: paper.sizeFor(sheet.place, WIDTH - paper.widthOf(sheet.title, 'bold', 15) - 20, 'normal', 8.5),
      align: 'right',
    });
    paper.rule(LEFT, 47, WIDTH, 1.2, '#111111');
    this.y = 53;
    for (const block of sheet.blocks) await this.block(block);
  }

  private page(): void {
    this.paper.addPage();
    this.feet.push(this.sheet?.foot ?? '');
  }

  private nextPage(): void {
    this.page();
    const { paper, sheet } = this;
    paper.write(`${sheet?.title ?? ''} (continued)`, LEFT, 30, { font: 'bold', size: 10 });
    paper.rule(LEFT, 47, WIDTH, 0.8, '#111111');
    this.y = AREA.top;
  }

  /** Begins a new page if the height does not fit. */
  private room(height: number): void {
    if (this.y + height > AREA.bottom && this.y > AREA.top) this.nextPage();
  }

  private async block(block: Block): Promise<void> {
    switch (block.kind) {
      case 'facts':
        return this.facts(block.facts);
      case 'bar':
        return this.bar(block);
      case 'table':
        return this.table(block);
      case 'text':
        return this.text(block.title, block.text);
      case 'caution':
        return this.lines(block.text, { font: 'oblique', size: 7 }, WIDTH, LEFT, 3);
      case 'signatures':
        return this.signatures(block);
    }
  }

  private facts(facts: [string, string][]): void {
    const [half, label, step] = [WIDTH / 2, 66, 11.5];
    for (let index = 0; index < facts.length; index += 2) {
      const pair = facts.slice(index, index + 2).map(([name, value], place) => {
        const x = LEFT + place * half;
        return {
          name,
          x,
          lines: this.paper.wrapped(value === '' ? '–' : value, half - label - 8, 'normal', 9),
        };
      });
      for (const { name, x, lines } of pair) {
        this.paper.write(name, x, this.y, { font: 'bold', size: 8 });
        for (const [line, words] of lines.entries())
          this.paper.write(words, x + label, this.y - 0.8 + line * step, { size: 9 });
      }
      this.y += step * Math.max(...pair.map(({ lines }) => lines.length));
    }
    this.y += 4;
  }

  /** Each class by its letter and hatch; clock hours above, letters of the quarter-hours below. */
  private bar({ cells, legend }: Extract<Block, { kind: 'bar' }>): void {
    const { paper } = this;
    const [height, top] = [20, this.y + 22];
    paper.write('Time by quarter of an hour', LEFT, this.y, TITLE);
    const x = (share: number): number => LEFT + share * WIDTH;
    for (const { parts } of cells)
      for (const { look, from, to } of parts) paper.hatch(x(from), top, x(to) - x(from), height, look.hatch);
    for (const { clock, from, to, letter } of cells) {
      const isHour = clock.endsWith(':00');
      paper.shade(x(from) - 0.2, isHour ? top - 4 : top, 0.4, isHour ? height + 4 : height, '#111111');
      if (isHour) paper.write(clock, x(from), top - 11, { size: 5.5, align: from === 0 ? 'left' : 'center' });
      paper.write(letter, x((from + to) / 2), top + height + 1.5, { size: 6, align: 'center' });
    }
    paper.frame(LEFT, top, WIDTH, height, 0.8);
    this.y = top + height + 11;
    let at = LEFT;
    for (const { look, time } of legend) {
      const words = `${look.letter} ${look.words} ${time}`;
      const width = paper.widthOf(words, 'normal', 7.5) + 24;
      if (at + width > LEFT + WIDTH) {
        at = LEFT;
        this.y += 11;
      }
      paper.hatch(at, this.y, 12, 7, look.hatch);
      paper.frame(at, this.y, 12, 7, 0.5);
      paper.write(words, at + 15, this.y - 0.8, { size: 7.5 });
      at += width;
    }
    this.y += 15;
  }

  private async table({ title, columns, rows }: SheetTable): Promise<void> {
    const { paper } = this;
    const paperRows = rows.map(({ cells, note, isTotal }): PaperRow =>
      isTotal ? { kind: 'total', cells } : { kind: 'line', cells, ...(note === undefined ? {} : { note }) },
    );
    const begin = (): void => {
      this.nextPage();
      paper.write(`${title} (continued)`, LEFT, AREA.top, TITLE);
    };
    const area = { ...AREA, top: AREA.top + 13 };
    const table = new PaperTable(paper, columns, paperRows, area, begin, { isCompact: true });
    this.room(13 + table.leastHeight);
    paper.write(title, LEFT, this.y, TITLE);
    this.y = (await table.draw(this.y + 12)) + 6;
  }

  private text(title: string, text: string): void {
    this.room(24);
    this.paper.write(title, LEFT, this.y, TITLE);
    this.lines(text, { size: 8.5 }, WIDTH - 92, LEFT + 92, 4);
  }

  private lines(text: string, look: TextLook, width: number, x: number, after: number): void {
    const { font = 'normal', size = 8 } = look;
    const step = size * 1.3;
    for (const words of this.paper.wrapped(text, width, font, size)) {
      this.room(step);
      this.paper.write(words, x, this.y, look);
      this.y += step;
    }
    this.y += after;
  }

  /** All signatures together, at the foot of a page with other content, otherwise at the top. */
  private signatures({ signatures, notes }: Extract<Block, { kind: 'signatures' }>): void {
    const { paper } = this;
    const [gap, label] = [24, 44];
    const each = (WIDTH - gap) / signatures.length;
    const wrapped = (text: string): string[] => paper.wrapped(text, each - gap, 'normal', 7.5);
    const heads = signatures.map(({ parties, record }) =>
      [...parties, ...(record === '' ? [] : [`In the record: ${record}`])].flatMap(wrapped),
    );
    const headHeight = Math.max(...heads.map(({ length }) => length)) * 9.5;
    const said = notes.flatMap((note) => paper.wrapped(note, WIDTH, 'normal', 7));
    const whole = 14 + headHeight + 48 + said.length * 9.2;
    const short = Math.min(CLOSER, Math.max(0, this.y + whole - AREA.bottom));
    const pages = this.feet.length;
    this.room(whole - short);
    const closer = this.feet.length === pages ? short : 0;
    const height = whole - closer;
    if (this.feet.length === pages) this.y = Math.max(this.y, AREA.bottom - height);
    for (const [index, { side }] of signatures.entries()) {
      const left = LEFT + index * (each + gap / 2);
      paper.write(side, left, this.y, TITLE);
      for (const [line, words] of heads[index]!.entries())
        paper.write(words, left, this.y + 12 + line * 9.5, { size: 7.5 });
      const top = this.y + 18 + headHeight;
      const right = left + each - gap / 2;
      const line = (name: string, x: number, y: number, width: number, end: number): void => {
        paper.write(name, x, y, SMALL);
        paper.rule(x + width, y + 9, end - x - width, 0.5);
      };
      line('Name', left, top, label, right - 84);
      line('Date', right - 78, top, 22, right);
      line('Signature', left, top + 26 - closer, label, right);
    }
    this.y += height - said.length * 9.2 + 6;
    for (const words of said) {
      paper.write(words, LEFT, this.y, SMALL);
      this.y += 9.2;
    }
  }
}

/** Reports of days on paper, one after the other. Equal records give equal bytes. */
export const dayPaper = async (
  reports: DailyReport[],
  done: (days: number) => void = () => undefined,
): Promise<Buffer> => {
  const [first, last] = [reports[0]!, reports.at(-1)!];
  const days = first === last ? first.date : `${first.date} to ${last.date}`;
  const paper = new Paper({
    title: `Daily report ${days}, drive ${first.drive}, project ${first.project}`,
    subject: `Drive ${first.driveName}, ${first.projectName}`,
    madeAt: new Date(first.changedAt ?? `${first.date}T00:00:00Z`),
    isUpright: true,
  });
  const drawer = new SheetDrawer(paper);
  for (const [index, report] of reports.entries()) {
    await paper.prepare(JSON.stringify(report));
    for (const sheet of sheetsOf(report)) await drawer.draw(sheet);
    done(index + 1);
  }
  paper.onEachPage((page, pages) => {
    paper.rule(LEFT, FOOT - 4, WIDTH, 0.4);
    const said = drawer.feet[page - 1] ?? '';
    paper.write(said, LEFT, FOOT, { size: paper.sizeFor(said, WIDTH - 70, 'normal', 7) });
    paper.write(`Page ${page} of ${pages}`, LEFT + WIDTH, FOOT, { size: 7, align: 'right' });
  });
  return paper.finished();
};
