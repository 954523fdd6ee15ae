/** Rules of ISO 19005-1, level B, that can be checked on the objects of a PDF: they are uncompressed, as PDFKit writes them. */
const RULES: [rule: string, holds: (objects: string, whole: string) => boolean][] = [
  ['it is PDF 1.4', (_, whole) => whole.startsWith('%PDF-1.4\n')],
  [
    'its metadata claim PDF/A-1b',
    (_, whole) => /<pdfaid:part>1<\/pdfaid:part>\s*<pdfaid:conformance>B<\/pdfaid:conformance>/.test(whole),
  ],
  [
    'its colours have a profile',
    (objects) => /\/S \/GTS_PDFA1\b[\s\S]*?\/DestOutputProfile \d+ 0 R/.test(objects),
  ],
  ['it has an identifier', (objects) => /\/ID \[<\w+> <\w+>\]/.test(objects)],
  [
    'its fonts are embedded',
    (objects) => {
      const fonts = objects.match(/\/Type \/FontDescriptor\b[\s\S]*?>>/g) ?? [];
      return fonts.length > 0 && fonts.every((font) => /\/FontFile[23] \d+ 0 R/.test(font));
    },
  ],
  ['no font is left to the reader', (objects) => !/\/Subtype \/Type1\b/.test(objects)],
  [
    'nothing is transparent',
    (objects) => !/\/SMask (?!\/None)|\/ca 0|\/CA 0|\/S \/Transparency/.test(objects),
  ],
  [
    'it runs, holds and hides nothing',
    (objects) => !/\/JavaScript|\/EmbeddedFiles|\/Encrypt|\/LZWDecode/.test(objects),
  ],
];

/** The rules of PDF/A-1b that a file breaks. Apache PDFBox Preflight checks all of them (docs/decisions/075). */
export const faultsOfPdfA = (bytes: Buffer | undefined): string[] => {
  const whole = bytes?.toString('latin1') ?? '';
  const objects = whole.replaceAll(/stream\r?\n[\s\S]*?endstream/g, '');
  return RULES.filter(([, holds]) => !holds(objects, whole)).map(([rule]) => rule);
};
