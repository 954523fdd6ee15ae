import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';

export const PDF = 'application/pdf';

const require = createRequire(import.meta.url);
const fontFile = (name: string): string => require.resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`);

/** DejaVu: Latin, Greek and Cyrillic, digits all of one width. */
const FONTS = {
  normal: 'DejaVuSansCondensed',
  bold: 'DejaVuSansCondensed-Bold',
  oblique: 'DejaVuSansCondensed-Oblique',
};
export type PaperFont = keyof typeof FONTS;

const INK = '#111111';
export const RED = '#b00020';

/** How a text looks. */
export interface TextLook {
  font?: PaperFont;
  /** [pt] */
  size?: number;
  colour?: string;
  align?: 'left' | 'center' | 'right';
}

export interface PaperFacts {
  title: string;
  subject: string;
  /** when it was made; not the clock's, so that the same content gives the same bytes */
  madeAt: Date;
}

/** Tabs and other controls have no form on paper; lines end in one way. */
const printable = (text: string): string =>
  text.replaceAll(/\r\n?/g, '\n').replaceAll(/[\u0000-\u0009\u000b-\u001f\u007f]/g, ' ');

/** Sheets of A4, across, on which everything is put at its place. Lengths are points, from the top left. */
export class Paper {
  readonly width = 841.89;
  readonly height = 595.28;
  private readonly document: PDFKit.PDFDocument;
  private readonly parts: Buffer[] = [];
  private readonly widths = new Map<string, number>();

  constructor({ title, subject, madeAt }: PaperFacts) {
    this.document = new PDFDocument({
      size: [this.width, this.height],
      margin: 0,
      bufferPages: true,
      autoFirstPage: false,
      displayTitle: true,
      lang: 'en',
      pdfVersion: '1.7',
      info: { Title: title, Subject: subject, Creator: 'Drivebook', CreationDate: madeAt, ModDate: madeAt },
    });
    this.document.on('data', (part: Buffer) => this.parts.push(part));
    for (const [font, name] of Object.entries(FONTS)) this.document.registerFont(font, fontFile(name));
  }

  addPage(): void {
    this.document.addPage();
  }

  /** The sum of its characters: kerning would only make it narrower. */
  widthOf(text: string, font: PaperFont, size: number): number {
    let width = 0;
    for (const character of text) width += this.widthOfCharacter(character, font);
    return (width * size) / 1000;
  }

  /** A size, no larger than asked, in which the text is no wider than the width. */
  sizeFor(text: string, width: number, font: PaperFont, size: number): number {
    return Math.min(size, (size * width) / this.widthOf(text, font, size));
  }

  /** Lines no wider than the width: broken at blanks, and within a word that is wider than a line. */
  wrapped(text: string, width: number, font: PaperFont, size: number): string[] {
    return printable(text)
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

  /** One line; x is where it begins, ends or has its middle. */
  write(text: string, x: number, y: number, look: TextLook = {}): void {
    const { font = 'normal', size = 8, colour = INK, align = 'left' } = look;
    const width = align === 'left' ? 0 : this.widthOf(text, font, size);
    this.document
      .font(font)
      .fontSize(size)
      .fillColor(colour)
      .text(printable(text), x - (align === 'center' ? width / 2 : width), y, { lineBreak: false });
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

  /** A large word across the page, behind what is written later. */
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

  /** Does the work on every page, when it is known how many there are. */
  onEachPage(work: (page: number, pages: number) => void): void {
    const { count } = this.document.bufferedPageRange();
    for (let page = 0; page < count; page += 1) {
      this.document.switchToPage(page);
      work(page + 1, count);
    }
  }

  finished(): Promise<Buffer> {
    return new Promise((resolve) => {
      this.document.on('end', () => resolve(Buffer.concat(this.parts)));
      this.document.end();
    });
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

  /** Of a font of 1000 points. */
  private widthOfCharacter(character: string, font: PaperFont): number {
    const key = font + character;
    let width = this.widths.get(key);
    if (width === undefined) {
      width = this.document.font(font).fontSize(1000).widthOfString(character);
      this.widths.set(key, width);
    }
    return width;
  }
}
