import { EAST_ASIAN_OUTLINE, eastAsianFonts } from './east-asian.js';

/** Characters that every font has, which need no lookup. */
const USUAL = /^[\n -~]*$/;

/** Code points in their usual notation: U+6C34. */
const named = (text: string): string =>
  Array.from(
    text,
    (character) => `U+${character.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0')}`,
  ).join(' ');

interface OpenFont {
  ascender: number;
  font: { hasGlyphForCodePoint(codePoint: number): boolean };
}

interface Run {
  text: string;
  /** name of another font; undefined: the font of the text */
  other?: string;
}

export interface TextStyle {
  font: string;
  size: number;
  colour: string;
}

/** Writes text of any script in a PDF: in its font, in a font for East Asian scripts, or as code points, so that nothing is lost silently. */
export class PdfText {
  private readonly known = new Map<string, boolean>();
  private readonly widths = new Map<string, number>();
  /** Fonts for characters that the document's own fonts lack. */
  private readonly others = new Map<string, string>();

  constructor(private readonly document: PDFKit.PDFDocument) {}

  /** Loads the fonts needed for a text. */
  async prepare(text: string): Promise<void> {
    for (const { name, bytes, characters } of await eastAsianFonts(text)) {
      this.document.registerFont(name, bytes as unknown as ArrayBuffer);
      for (const character of characters) this.others.set(character, name);
    }
  }

  /** The text as printed: a character that no font has is replaced by its code point, [U+6C34 U+6D41]. */
  shown(text: string, font: string): string {
    if (USUAL.test(text)) return text;
    let [shown, without] = ['', ''];
    const flush = (): void => {
      if (without !== '') shown += `[${named(without)}]`;
      without = '';
    };
    for (const character of text) {
      if (character === '\n' || this.has(character, font) || this.others.has(character)) {
        flush();
        shown += character;
      } else without += character;
    }
    flush();
    return shown;
  }

  /** In units of 1/1000 of the font size. @param character  of a printed text */
  widthOf(character: string, font: string): number {
    const key = font + character;
    let width = this.widths.get(key);
    if (width === undefined) {
      const own = this.has(character, font) ? font : (this.others.get(character) ?? font);
      width = this.document.font(own).fontSize(1000).widthOfString(character);
      this.widths.set(key, width);
    }
    return width;
  }

  /** Writes one line, beginning at x. @param text  as printed */
  write(text: string, x: number, y: number, style: TextStyle, options: PDFKit.Mixins.TextOptions = {}): void {
    const { document } = this;
    const { font, size, colour } = style;
    for (const run of this.runs(text, font)) {
      document
        .font(run.other ?? font)
        .fontSize(size)
        .fillColor(colour);
      if (run.other === undefined) document.text(run.text, x, y, { ...options, lineBreak: false });
      else this.writeOther(run.text, x, y, style, options);
      for (const character of run.text) x += (this.widthOf(character, font) * size) / 1000;
    }
  }

  private writeOther(
    text: string,
    x: number,
    y: number,
    { font, size, colour }: TextStyle,
    { baseline }: PDFKit.Mixins.TextOptions,
  ): void {
    const { document } = this;
    const down = baseline === 'alphabetic' ? 0 : (this.open(font).ascender * size) / 1000;
    document
      .save()
      .lineWidth(size * (font === 'bold' ? EAST_ASIAN_OUTLINE.bold : EAST_ASIAN_OUTLINE.normal))
      .lineJoin('round')
      .strokeColor(colour)
      .text(text, x, y + down, { lineBreak: false, baseline: 'alphabetic', fill: true, stroke: true })
      .restore();
  }

  private runs(text: string, font: string): Run[] {
    if (this.others.size === 0 || USUAL.test(text)) return [{ text }];
    const runs: Run[] = [];
    for (const character of text) {
      const other = this.has(character, font) ? undefined : this.others.get(character);
      const last = runs.at(-1);
      if (last && last.other === other) last.text += character;
      else runs.push(other === undefined ? { text: character } : { text: character, other });
    }
    return runs;
  }

  private has(character: string, font: string): boolean {
    const key = font + character;
    let has = this.known.get(key);
    if (has === undefined) {
      has = this.open(font).font.hasGlyphForCodePoint(character.codePointAt(0)!);
      this.known.set(key, has);
    }
    return has;
  }

  /** A font of the document; the current font stays selected. */
  private open(font: string): OpenFont {
    const document = this.document as unknown as { _font: unknown };
    const { _font: before } = document;
    const { _font: found } = this.document.font(font) as unknown as { _font: OpenFont };
    document._font = before;
    return found;
  }
}
