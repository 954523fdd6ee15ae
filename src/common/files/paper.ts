import { createRequire } from 'node:module';
import { Pdf, type PdfFacts } from './pdf-document.js';
import { PdfText } from './pdf-text.js';

const require = createRequire(import.meta.url);
const fontFile = (name: string): string => require.resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`);

/** DejaVu: Latin, Greek and Cyrillic, with digits of equal width. */
const FONTS = {
  normal: fontFile('DejaVuSansCondensed'),
  bold: fontFile('DejaVuSansCondensed-Bold'),
  oblique: fontFile('DejaVuSansCondensed-Oblique'),
};
export type PaperFont = keyof typeof FONTS;

const INK = '#111111';
export const RED = '#b00020';

/** The style of a text. */
export interface TextLook {
  font?: PaperFont;
  /** [pt] */
  size?: number;
  colour?: string;
  align?: 'left' | 'center' | 'right';
}

export interface PaperFacts extends PdfFacts {
  /** A4 portrait instead of landscape */
  isUpright?: boolean;
}

/** Fill pattern of an area, so that areas can be distinguished without colours. */
export type Hatch = 'solid' | 'grey' | 'rising' | 'crossed' | 'dotted' | 'level' | 'blank' | 'upright';

const LONG = 841.89;
const SHORT = 595.28;

/** Removes tabs and other control characters, and unifies line ends. */
const printable = (text: string): string =>
  text.replaceAll(/\r\n?/g, '\n').replaceAll(/[\u0000-\u0009\u000b-\u001f\u007f]/g, ' ');

/** A4 sheets with everything at a given position. Lengths are in points, from the top left. */
export class Paper {
  readonly width: number;
  readonly height: number;
  private readonly pdf: Pdf;
  private readonly document: PDFKit.PDFDocument;
  private readonly text: PdfText;

  constructor({ isUpright = false, ...facts }: PaperFacts) {
    [this.width, this.height] = isUpright ? [SHORT, LONG] : [LONG, SHORT];
    this.pdf = new Pdf(facts, FONTS, { size: [this.width, this.height], bufferPages: true });
    this.document = this.pdf.document;
    this.text = new PdfText(this.document);
  }

  /** Loads the fonts for texts of any script. @param text  everything that will be written, or more */
  prepare(text: string): Promise<void> {
    return this.text.prepare(text);
  }

  addPage(): void {
    this.document.addPage();
  }

  /** The sum of the character widths; kerning would only make it narrower. */
  widthOf(text: string, font: PaperFont, size: number): number {
    let width = 0;
    for (const character of this.shown(text, font)) width += this.text.widthOf(character, font);
    return (width * size) / 1000;
  }

  /** The largest font size, up to the given one, at which the text fits the width. */
  sizeFor(text: string, width: number, font: PaperFont, size: number): number {
    return Math.min(size, (size * width) / this.widthOf(text, font, size));
  }

  /** Lines of at most this width: broken at blanks, and within a word that is wider than a line. */
  wrapped(text: string, width: number, font: PaperFont, size: number): string[] {
    return this.shown(text, font)
      .split('\n')
      .flatMap((paragraph) => {
        const lines = [''];
        for (const word of paragraph.split(' ').flatMap((whole) => this.pieces(whole, width, font, size))) {
          const line = lines.at(-1) ?? '';
          const longer = line === '' ? word : `${line} ${word}`;
          if (line === '' || this.widthOf(longer, font, size) <= width) lines[lines.length - 1] = longer;
          else lines.push(word);
        }
        return lines;
      });
  }

  /** One line; x is its start, end or middle. */
  write(text: string, x: number, y: number, look: TextLook = {}): void {
    const { font = 'normal', size = 8, colour = INK, align = 'left' } = look;
    const width = align === 'left' ? 0 : this.widthOf(text, font, size);
    const from = x - (align === 'center' ? width / 2 : width);
    this.text.write(this.shown(text, font), from, y, { font, size, colour });
  }

  rule(x: number, y: number, width: number, thickness = 0.5, colour = '#555555'): void {
    this.document
      .moveTo(x, y)
      .lineTo(x + width, y)
      .lineWidth(thickness)
      .strokeColor(colour)
      .stroke();
  }

  shade(x: number, y: number, width: number, height: number, colour = '#ececec'): void {
    this.document.rect(x, y, width, height).fill(colour);
  }

  /** The outline of an area. */
  frame(x: number, y: number, width: number, height: number, thickness = 0.5): void {
    this.document.rect(x, y, width, height).lineWidth(thickness).strokeColor(INK).stroke();
  }

  /** An area filled with a pattern that can be distinguished in black and white. */
  hatch(x: number, y: number, width: number, height: number, hatch: Hatch): void {
    const { document } = this;
    if (hatch === 'blank' || width <= 0) return;
    if (hatch === 'solid' || hatch === 'grey') {
      this.shade(x, y, width, height, hatch === 'solid' ? '#3d3d3d' : '#bdbdbd');
      return;
    }
    document.save().rect(x, y, width, height).clip().lineWidth(0.5).strokeColor(INK);
    // Lines are aligned to a grid of the page, so that they continue across adjacent areas.
    const from = (step: number): number => Math.floor((x - height) / step) * step;
    if (hatch === 'rising' || hatch === 'crossed')
      for (let at = from(3.5); at < x + width + height; at += 3.5) {
        document.moveTo(at, y + height).lineTo(at + height, y);
        if (hatch === 'crossed') document.moveTo(at, y).lineTo(at + height, y + height);
      }
    if (hatch === 'upright')
      for (let at = from(2.5); at < x + width; at += 2.5) document.moveTo(at, y).lineTo(at, y + height);
    if (hatch === 'level')
      for (let at = y + 1.5; at < y + height; at += 3) document.moveTo(x, at).lineTo(x + width, at);
    if (hatch === 'dotted') {
      for (let at = from(3); at < x + width + 1; at += 3)
        for (let down = y + 1.5; down < y + height; down += 3) document.circle(at + 0.5, down, 0.6);
      document.fill(INK);
    } else document.stroke();
    document.restore();
  }

  /** A large word across the page, behind everything written later. */
  watermark(word: string): void {
    const size = 110;
    this.document.save().rotate(-25, { origin: [this.width / 2, this.height / 2] });
    this.write(word, this.width / 2, this.height / 2 - size / 2, {
      font: 'bold',
      size,
      colour: '#f6f0f1',
      align: 'center',
    });
    this.document.restore();
  }

  /** Runs the work on every page once the number of pages is known. */
  onEachPage(work: (page: number, pages: number) => void): void {
    const { count } = this.document.bufferedPageRange();
    for (let page = 0; page < count; page += 1) {
      this.document.switchToPage(page);
      work(page + 1, count);
    }
  }

  finished(): Promise<Buffer> {
    return this.pdf.finished();
  }

  private shown(text: string, font: PaperFont): string {
    return this.text.shown(printable(text), font);
  }

  private pieces(word: string, width: number, font: PaperFont, size: number): string[] {
    if (this.widthOf(word, font, size) <= width) return [word];
    const pieces = [''];
    for (const character of word) {
      const longer = (pieces.at(-1) ?? '') + character;
      if (longer.length === 1 || this.widthOf(longer, font, size) <= width)
        pieces[pieces.length - 1] = longer;
      else pieces.push(character);
    }
    return pieces;
  }
}
