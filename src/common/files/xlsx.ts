import { mapInTurns } from '../work/turns.js';
import { columnName } from './xlsx-read.js';
import { xmlText } from './xml.js';
import { packedEntries, zipOf } from './zip.js';
import { StyleSheet, type CellStyle } from './xlsx-styles.js';

export const XLSX = 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet';

/** The value of a cell. Text is never executed; numbers are decimal text, written unchanged. */
export type XlsxCell = CellStyle &
  (
    | { text: string }
    | { number: string }
    /** `value` is the formula's result, so that the sheet can be read without calculating */
    | { formula: string; value: string }
    | { empty: true }
  );

/** A sheet for printing: A4 landscape, fitted to the page width, headings on each page. */
export interface PrintSheet {
  name: string;
  /** column widths, in characters */
  widths: number[];
  /** null: an empty cell */
  rows: (XlsxCell | null)[][];
  /** number of the heading row, from 1: it and the rows above stay visible, and are repeated on every page */
  headingRow: number;
  /** footer of each page, beside the page numbers */
  footer: string;
  /** header of each page */
  header?: string;
}

const MAIN = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const PACKAGE = 'http://schemas.openxmlformats.org/package/2006';
const OFFICE = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const TYPE = 'application/vnd.openxmlformats-officedocument.spreadsheetml';
const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';

/** Text without any of these needs no escaping. */
const SPECIAL = /[_&<>"\u0000-\u0008\u000b-\u001f\ufffe\uffff]/;

/** Escapes characters that XML cannot contain, and text that looks like such an escape: _x000D_ (ECMA-376, ST_Xstring). */
const written = (text: string): string => (SPECIAL.test(text) ? escaped(text) : text);

const escaped = (text: string): string =>
  xmlText(
    text
      .replace(/_(?=x[0-9A-Fa-f]{4}_)/g, '_x005F_')
      .replace(
        /[\u0000-\u0008\u000b-\u001f\ufffe\uffff]/g,
        (character) => `_x${character.charCodeAt(0).toString(16).padStart(4, '0').toUpperCase()}_`,
      ),
  );

/** Text that would lose white space without the attribute. */
const SPACED = /^\s|\s$|[\t\n\r]| {2}/;

const cellXml = (cell: XlsxCell, place: string, styles: StyleSheet): string => {
  const style = styles.indexOf(cell);
  const head = style === 0 ? `<c r="${place}"` : `<c r="${place}" s="${style}"`; // 0 is the default
  if ('text' in cell)
    return `${head} t="inlineStr"><is><t${SPACED.test(cell.text) ? ' xml:space="preserve"' : ''}>${written(cell.text)}</t></is></c>`;
  if ('number' in cell) return `${head}><v>${cell.number}</v></c>`;
  if ('formula' in cell) return `${head}><f>${xmlText(cell.formula)}</f><v>${cell.value}</v></c>`;
  return `${head}/>`;
};

const rowXml = (cells: (XlsxCell | null)[], line: number, names: string[], styles: StyleSheet): string => {
  const written = cells.map((cell, column) =>
    cell ? cellXml(cell, `${(names[column] ??= columnName(column))}${line}`, styles) : '',
  );
  return `<row r="${line}">${written.join('')}</row>`;
};

/** & begins a code in page headers and footers. */
const marginText = (text: string): string => written(text.replaceAll('&', '&&'));

/** Rows encoded at a time: a sheet as one long text would be copied and encoded in one go, which takes longer and blocks the event loop. */
const AT_ONCE = 50;

const sheetXml = async (
  { widths, rows, headingRow, footer, header }: PrintSheet,
  styles: StyleSheet,
): Promise<Buffer> => {
  const head =
    header === undefined
      ? ''
      : `<oddHeader>&amp;C&amp;"Arial,Bold"&amp;14${marginText(` ${header}`)}</oddHeader>`;
  const columns = widths.map(
    (width, index) => `<col min="${index + 1}" max="${index + 1}" width="${width}" customWidth="1"/>`,
  );
  const names: string[] = []; // column names, each computed once
  const groups = Array.from({ length: Math.ceil(rows.length / AT_ONCE) }, (_, group) => group * AT_ONCE);
  const lines = await mapInTurns(groups, (from) => {
    const written = rows
      .slice(from, from + AT_ONCE)
      .map((cells, index) => rowXml(cells, from + index + 1, names, styles));
    return Buffer.from(`${from === 0 ? '' : '\n'}${written.join('\n')}`);
  });
  const below = `A${headingRow + 1}`;
  const before = `${HEAD}<worksheet xmlns="${MAIN}"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr>
<dimension ref="A1:${columnName(widths.length - 1)}${rows.length}"/>
<sheetViews><sheetView showGridLines="0" workbookViewId="0"><pane ySplit="${headingRow}" topLeftCell="${below}" activePane="bottomLeft" state="frozen"/><selection pane="bottomLeft" activeCell="${below}" sqref="${below}"/></sheetView></sheetViews>
<sheetFormatPr defaultRowHeight="15"/><cols>${columns.join('')}</cols>
<sheetData>`;
  const after = `</sheetData>
<printOptions horizontalCentered="1"/><pageMargins left="0.5" right="0.5" top="0.6" bottom="0.7" header="0.3" footer="0.3"/>
<pageSetup paperSize="9" orientation="landscape" fitToWidth="1" fitToHeight="0"/>
<headerFooter>${head}<oddFooter>&amp;L${marginText(footer)}&amp;RPage &amp;P of &amp;N</oddFooter></headerFooter></worksheet>`;
  return Buffer.concat([Buffer.from(before), ...lines, Buffer.from(after)]);
};

/** A valid sheet name: up to 31 characters, without those that formulas use. */
const sheetName = (name: string): string => name.replace(/[\\/?*[\]:']/g, '-').slice(0, 31);

const workbookXml = (sheets: PrintSheet[]): string => {
  const listed = sheets.map(
    ({ name }, index) =>
      `<sheet name="${xmlText(sheetName(name))}" sheetId="${index + 1}" r:id="rId${index + 1}"/>`,
  );
  const names = sheets.map(({ name, headingRow, rows, widths }, index) => {
    const sheet = `'${sheetName(name)}'`;
    const area = `${sheet}!$A$1:$${columnName(widths.length - 1)}$${rows.length}`;
    return `<definedName name="_xlnm.Print_Area" localSheetId="${index}">${xmlText(area)}</definedName><definedName name="_xlnm.Print_Titles" localSheetId="${index}">${xmlText(sheet)}!$${headingRow}:$${headingRow}</definedName>`;
  });
  return `${HEAD}<workbook xmlns="${MAIN}" xmlns:r="${OFFICE}"><bookViews><workbookView/></bookViews><sheets>${listed.join('')}</sheets>
<definedNames>${names.join('')}</definedNames></workbook>`;
};

const typesXml = (parts: string[]): string =>
  `${HEAD}<Types xmlns="${PACKAGE}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="${TYPE}.sheet.main+xml"/>${parts
    .map((part) => `<Override PartName="/xl/${part}" ContentType="${TYPE}.worksheet+xml"/>`)
    .join('')}<Override PartName="/xl/styles.xml" ContentType="${TYPE}.styles+xml"/></Types>`;

const relations = (targets: [type: string, target: string][]): string =>
  `${HEAD}<Relationships xmlns="${PACKAGE}/relationships">${targets
    .map(
      ([type, target], index) =>
        `<Relationship Id="rId${index + 1}" Type="${OFFICE}/${type}" Target="${target}"/>`,
    )
    .join('')}</Relationships>`;

/** A workbook (ECMA-376, SpreadsheetML), written over several turns of the event loop. Equal sheets give equal bytes. */
export const xlsxOf = async (...sheets: [PrintSheet, ...PrintSheet[]]): Promise<Buffer> => {
  const styles = new StyleSheet();
  const tables: Buffer[] = []; // the styles are only known after all sheets are written
  for (const sheet of sheets) tables.push(await sheetXml(sheet, styles));
  const paths = sheets.map((_, index) => `worksheets/sheet${index + 1}.xml`);
  const parts: [name: string, xml: string | Buffer][] = [
    ['[Content_Types].xml', typesXml(paths)],
    ['_rels/.rels', relations([['officeDocument', 'xl/workbook.xml']])],
    ['xl/workbook.xml', workbookXml(sheets)],
    [
      'xl/_rels/workbook.xml.rels',
      relations([...paths.map((path): [string, string] => ['worksheet', path]), ['styles', 'styles.xml']]),
    ],
    ['xl/styles.xml', HEAD + styles.xml(MAIN)],
    ...paths.map((path, index): [string, Buffer] => [`xl/${path}`, tables[index] ?? Buffer.alloc(0)]),
  ];
  return zipOf(
    await packedEntries(
      parts.map(([name, xml]) => ({ name, content: typeof xml === 'string' ? Buffer.from(xml) : xml })),
    ),
  );
};
