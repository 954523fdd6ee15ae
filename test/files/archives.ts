import { zipOf } from '../../src/common/files/zip.js';

const OFFICE = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const MAIN = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';

const relations = (...all: [id: string, type: string, target: string, mode?: string][]): string =>
  `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">${all
    .map(
      ([id, type, target, mode]) =>
        `<Relationship Id="${id}" Type="${OFFICE}/${type}" Target="${target}"${mode ? ` TargetMode="${mode}"` : ''}/>`,
    )
    .join('')}</Relationships>`;

/** Parts of a workbook as other programs write it: shared texts, a hidden sheet, paths from the root. */
export const workbookParts = (
  sheet: string,
  shared: string[] = [],
  more: Record<string, string> = {},
): Record<string, string> => ({
  '_rels/.rels': relations(['rId1', 'officeDocument', '/xl/workbook.xml']),
  'xl/workbook.xml': `<workbook xmlns="${MAIN}" xmlns:r="${OFFICE}"><sheets><sheet name="Notes" sheetId="1" state="hidden" r:id="rId9"/><sheet name="Bill" sheetId="2" r:id="rId2"/></sheets></workbook>`,
  'xl/_rels/workbook.xml.rels': relations(
    ['rId1', 'sharedStrings', 'sharedStrings.xml'],
    ['rId2', 'worksheet', '/xl/worksheets/sheet2.xml'],
    ['rId3', 'externalLink', 'file:///etc/passwd', 'External'],
    ['rId9', 'worksheet', 'worksheets/sheet1.xml'],
  ),
  'xl/sharedStrings.xml': `<sst xmlns="${MAIN}">${shared.join('')}</sst>`,
  'xl/worksheets/sheet1.xml': `<worksheet xmlns="${MAIN}"><sheetData/></worksheet>`,
  'xl/worksheets/sheet2.xml': `<worksheet xmlns="${MAIN}">${sheet}</worksheet>`,
  ...more,
});

export const archive = (parts: Record<string, string | Buffer>): Buffer =>
  zipOf(Object.entries(parts).map(([name, content]) => ({ name, content: Buffer.from(content) })));

/** A workbook with one table: strings as text, other cells as the XML between their tags, such as `<v>1</v>`. */
export const workbookOf = (
  rows: (string | { xml: string; type?: string } | null)[][],
  merged: string[] = [],
): Buffer => {
  const letter = (column: number): string => String.fromCharCode(65 + column);
  const cell = (value: (typeof rows)[number][number], place: string): string => {
    if (value === null) return '';
    if (typeof value !== 'string')
      return `<c r="${place}"${value.type ? ` t="${value.type}"` : ''}>${value.xml}</c>`;
    const text = value.replaceAll('&', '&amp;').replaceAll('<', '&lt;');
    return `<c r="${place}" t="inlineStr"><is><t>${text}</t></is></c>`;
  };
  const data = rows.map(
    (cells, index) =>
      `<row r="${index + 1}">${cells.map((value, column) => cell(value, `${letter(column)}${index + 1}`)).join('')}</row>`,
  );
  const merges =
    merged.length > 0
      ? `<mergeCells>${merged.map((ref) => `<mergeCell ref="${ref}"/>`).join('')}</mergeCells>`
      : '';
  return archive(workbookParts(`<sheetData>${data.join('')}</sheetData>${merges}`));
};

/** A number as a cell of a workbook. */
export const num = (text: string): { xml: string } => ({ xml: `<v>${text}</v>` });
