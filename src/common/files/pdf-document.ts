import PDFDocument from 'pdfkit';

export interface PdfFacts {
  title: string;
  subject: string;
  /** when it was made; not the clock's, so that the same content gives the same bytes */
  madeAt: Date;
}

/** A PDF without a page yet, whose bytes are gathered. */
export class Pdf {
  readonly document: PDFKit.PDFDocument;
  private readonly parts: Buffer[] = [];

  /** @param fonts  files, by the names that they are used under */
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
      pdfVersion: '1.7',
      info: { Title: title, Subject: subject, Creator: 'Drivebook', CreationDate: madeAt, ModDate: madeAt },
      ...options,
    });
    this.document.on('data', (part: Buffer) => this.parts.push(part));
    for (const [font, file] of Object.entries(fonts)) this.document.registerFont(font, file);
  }

  /** Ends it. @returns its bytes */
  finished(): Promise<Buffer> {
    return new Promise((resolve) => {
      this.document.on('end', () => resolve(Buffer.concat(this.parts)));
      this.document.end();
    });
  }
}
