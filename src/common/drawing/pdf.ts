import { FONT_FILES, type TextWidths } from '../charts/fonts.js';
import { Pdf, type PdfFacts } from '../files/pdf-document.js';
import { PdfText } from '../files/pdf-text.js';
import { INK, type Mark, type Pen, type Sheet } from './drawing.js';
import { type HatchName, hatchOf } from './hatches.js';

/** Points per millimetre. */
const MM = 72 / 25.4;

type Tile = PDFKit.PDFTilingPattern;

/** Kappa: distance of the control points of a quarter circle, as a multiple of its radius. */
const KAPPA = 0.5523;

const disc = (x: number, y: number, r: number): string => {
  const k = r * KAPPA;
  return `${x - r} ${y} m ${x - r} ${y + k} ${x - k} ${y + r} ${x} ${y + r} c ${x + k} ${y + r} ${x + r} ${y + k} ${x + r} ${y} c ${x + r} ${y - k} ${x + k} ${y - r} ${x} ${y - r} c ${x - k} ${y - r} ${x - r} ${y - k} ${x - r} ${y} c h`;
};

/** Printable text: without tabs and other control characters. */
const printable = (text: string): string => text.replaceAll(/[\u0000-\u001f\u007f]/g, ' ');

/** Writes sheets as PDF, each at once, so that only one is held in memory. */
export class PdfSheets {
  private readonly pdf: Pdf;
  private readonly document: PDFKit.PDFDocument;
  private readonly text: PdfText;
  private readonly tiles = new Map<HatchName, Tile>();

  constructor(
    facts: PdfFacts,
    private readonly widths: TextWidths,
  ) {
    this.pdf = new Pdf(facts, FONT_FILES);
    this.document = this.pdf.document;
    this.text = new PdfText(this.document);
  }

  /** Loads the fonts for texts of any script. @param text  everything that will be written, or more */
  prepare(text: string): Promise<void> {
    return this.text.prepare(text);
  }

  add({ width, height, marks }: Sheet): void {
    this.document.addPage({ size: [width * MM, height * MM], margin: 0 });
    this.document.scale(MM);
    this.document.lineJoin('round');
    for (const mark of marks) this.draw(mark);
  }

  finished(): Promise<Buffer> {
    return this.pdf.finished();
  }

  private draw(mark: Mark): void {
    const { document } = this;
    switch (mark.kind) {
      case 'group':
        for (const each of mark.marks) this.draw(each);
        return;
      case 'text':
        return this.write(mark);
      case 'rect':
        return this.rect(mark);
      case 'line': {
        for (const [index, [x, y]] of mark.places.entries())
          if (index === 0) document.moveTo(x, y);
          else document.lineTo(x, y);
        if (mark.isClosed) document.closePath();
        return this.paint(mark.fill, mark.pen);
      }
      case 'pieces': {
        for (const [index, [x, y]] of mark.places.entries())
          if (index % 2 === 0) document.moveTo(x, y);
          else document.lineTo(x, y);
        return this.paint(undefined, mark.pen);
      }
      case 'dots': {
        for (const [x, y] of mark.places) document.circle(x, y, mark.radius);
        return this.paint(mark.fill, mark.pen);
      }
    }
  }

  private rect({ x, y, width, height, fill, hatch, pen }: Extract<Mark, { kind: 'rect' }>): void {
    if (fill !== undefined) this.document.rect(x, y, width, height).fill(fill);
    if (hatch !== undefined)
      this.document.rect(x, y, width, height).fill([this.tile(hatch), INK] as unknown as string);
    if (pen) {
      this.document.rect(x, y, width, height);
      this.paint(undefined, pen);
    }
  }

  private paint(fill: string | undefined, pen: Pen | undefined): void {
    const { document } = this;
    if (pen) {
      document.lineWidth(pen.width).strokeColor(pen.colour);
      if (pen.dashes) document.dash([...pen.dashes] as unknown as number, {}); // it also accepts lists
      if (fill === undefined) document.stroke();
      else document.fillAndStroke(fill, pen.colour);
      if (pen.dashes) document.undash();
    } else if (fill !== undefined) document.fill(fill);
  }

  private write(mark: Extract<Mark, { kind: 'text' }>): void {
    const { x, y, size, anchor, isBold, colour = INK, isUpright } = mark;
    const font = isBold ? 'bold' : 'normal';
    const text = this.text.shown(printable(mark.text), font);
    if (text === '') return;
    const width = anchor === undefined ? 0 : this.widths.of(text, size, font);
    const before = anchor === 'middle' ? width / 2 : width;
    const { document } = this;
    if (isUpright) document.save().rotate(-90, { origin: [x, y] });
    this.text.write(text, x - before, y, { font, size, colour }, { baseline: 'alphabetic' });
    if (isUpright) document.restore();
  }

  private tile(name: HatchName): Tile {
    let tile = this.tiles.get(name);
    if (!tile) {
      const { width, height, lines, dots = [], rings = [], pen } = hatchOf(name);
      const stream = [
        `${pen} w`,
        ...lines.map(([x1, y1, x2, y2]) => `${x1} ${y1} m ${x2} ${y2} l`),
        ...rings.map(([x, y, r]) => disc(x, y, r)),
        'S',
        ...dots.map(([x, y, r]) => `${disc(x, y, r)} f`),
      ].join('\n');
      // a tile is clipped at its edges; lines extend beyond them
      tile = this.document.pattern([0, 0, width, height], width, height, stream);
      this.tiles.set(name, tile);
    }
    return tile;
  }
}
