import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';
import { isEastAsian } from '../files/east-asian.js';
import { registerFonts } from '../files/pdf-document.js';

const require = createRequire(import.meta.url);
const fontFile = (name: string): string => require.resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`);

export const FONT_FILES = { normal: fontFile('DejaVuSans'), bold: fontFile('DejaVuSans-Bold') };

export type Weight = keyof typeof FONT_FILES;

/** The font of all pictures; the others are fallbacks for SVG viewers without it. Verdana has the same widths. */
export const FONT_FAMILY = 'DejaVu Sans';
export const FONT_FAMILIES = `${FONT_FAMILY}, Verdana, Geneva, sans-serif`;

/** Splits text into words and East Asian characters, each with the blanks before it: a line may break between any two. */
const piecesOf = (text: string): string[] => {
  const pieces: string[] = [];
  let isOpen = false;
  for (const character of text) {
    const isSingle = isEastAsian(character);
    const last = pieces.at(-1) ?? '';
    const isBlank = character === ' ';
    if (isOpen && !isSingle && !isBlank) pieces[pieces.length - 1] = last + character;
    else if (!isOpen && last !== '' && last.trim() === '') pieces[pieces.length - 1] = last + character;
    else pieces.push(character);
    isOpen = !isSingle && !isBlank;
  }
  return pieces;
};

/** Text widths in the font of the pictures. */
export class TextWidths {
  private readonly document = new PDFDocument({ autoFirstPage: false });
  private readonly widths = { normal: new Map<string, number>(), bold: new Map<string, number>() };

  constructor() {
    registerFonts(this.document, FONT_FILES);
  }

  /** The sum of the character widths; kerning would only make it narrower. [px] */
  of(text: string, size: number, weight: Weight = 'normal'): number {
    let width = 0;
    for (const character of text) width += this.ofCharacter(character, weight);
    return (width * size) / 1000;
  }

  /** The text, truncated to this width. */
  cut(text: string, width: number, size: number, weight: Weight = 'normal'): string {
    if (this.of(text, size, weight) <= width) return text;
    const kept: string[] = [];
    let left = width - this.of('…', size, weight);
    for (const character of text) {
      left -= this.of(character, size, weight);
      if (left < 0) break;
      kept.push(character);
    }
    return `${kept.join('').trimEnd()}…`;
  }

  /** The text in lines of at most this width, broken at blanks. */
  wrapped(text: string, width: number, size: number): string[] {
    const lines = [''];
    for (const piece of piecesOf(text)) {
      const line = lines.at(-1) ?? '';
      const longer = line === '' ? piece.trimStart() : line + piece;
      if (line === '' || this.of(longer, size) <= width) lines[lines.length - 1] = longer;
      else lines.push(piece.trimStart());
    }
    return lines.map((line) => this.cut(line, width, size));
  }

  /** At a font size of 1000 pixels. */
  private ofCharacter(character: string, weight: Weight): number {
    const known = this.widths[weight];
    let width = known.get(character);
    if (width === undefined) {
      width = isEastAsian(character)
        ? 1000
        : this.document.font(weight).fontSize(1000).widthOfString(character);
      known.set(character, width);
    }
    return width;
  }
}
