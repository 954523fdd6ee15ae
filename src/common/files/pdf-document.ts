import PDFDocument from 'pdfkit';

export interface PdfFacts {
  title: string;
  subject: string;
  /** creation time; not that of the clock, so that equal content gives equal bytes */
  madeAt: Date;
}

/** The cache of word shapes is emptied after this many pages: otherwise a document of many tables would keep everything it has written. */
const PAGES_REMEMBERED = 8;

/** A font of a document, with the parsed font, which is shared between documents. */
interface DocumentFont {
  font: unknown;
  layoutCache?: Record<string, unknown>;
}

/** Internal state of the library's document. */
interface Kept {
  _font: DocumentFont;
  _fontFamilies: Record<string, DocumentFont>;
  _fontCount: number;
}

interface ReadFont {
  font: unknown;
  OfDocument: new (document: unknown, font: unknown, id: string) => DocumentFont;
}

/** Parsed fonts by file: parsing one takes as long as writing some pages, so each thread does it once. */
const fontsRead = new Map<string, ReadFont>();

/** Adds fonts to a document. @param fonts  files by the name under which they are used */
export const registerFonts = (document: PDFKit.PDFDocument, fonts: Record<string, string>): void => {
  const kept = document as unknown as Kept;
  const before = kept._font;
  for (const [name, file] of Object.entries(fonts)) {
    document.registerFont(name, file);
    const read = fontsRead.get(file);
    if (read) {
      kept._fontCount += 1;
      kept._fontFamilies[name] = new read.OfDocument(document, read.font, `F${kept._fontCount}`);
    } else {
      document.font(name);
      const { font, constructor } = kept._font;
      fontsRead.set(file, { font, OfDocument: constructor as ReadFont['OfDocument'] });
    }
  }
  kept._font = before;
};

/** A PDF/A-1b, initially without pages, whose bytes are collected. */
export class Pdf {
  readonly document: PDFKit.PDFDocument;
  private readonly parts: Buffer[] = [];
  private pages = 0;

  /** @param fonts  files by the name under which they are used */
  constructor(
    { title, subject, madeAt }: PdfFacts,
    fonts: Record<string, string>,
    options: PDFKit.PDFDocumentOptions = {},
  ) {
    this.document = new PDFDocument({
      margin: 0,
      autoFirstPage: false,
      displayTitle: true,
      lang: 'en',
      pdfVersion: '1.4',
      subset: 'PDF/A-1b', // ISO 19005-1: for long-term archiving, self-contained
      info: { Title: title, Subject: subject, Creator: 'Drivebook', CreationDate: madeAt, ModDate: madeAt },
      ...options,
    });
    this.document.on('data', (part: Buffer) => this.parts.push(part));
    this.document.on('pageAdded', () => {
      this.pages += 1;
      if (this.pages % PAGES_REMEMBERED === 0) this.forgetWords();
    });
    registerFonts(this.document, fonts);
  }

  private forgetWords(): void {
    for (const font of Object.values((this.document as unknown as Kept)._fontFamilies))
      if (font.layoutCache) font.layoutCache = Object.create(null) as Record<string, unknown>;
  }

  /** Completes the document. @returns its bytes */
  finished(): Promise<Buffer> {
    return new Promise((resolve) => {
      this.document.on('end', () => resolve(Buffer.concat(this.parts)));
      this.document.end();
    });
  }
}
