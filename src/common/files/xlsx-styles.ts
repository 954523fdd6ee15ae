import { xmlText } from './xml.js';

/** The style of a cell. */
export interface CellStyle {
  font?: 'bold' | 'title';
  /** background of headings */
  shaded?: boolean;
  line?: 'above' | 'below';
  align?: 'left' | 'center' | 'right';
  wrap?: boolean;
  /** number format, in spreadsheet syntax */
  format?: string;
}

/** A number with grouped thousands and this many decimals. */
export const numberFormat = (decimals: number): string =>
  decimals === 0 ? '#,##0' : `#,##0.${'0'.repeat(decimals)}`;

const FONTS = ['normal', 'bold', 'title'];
const LINES = ['none', 'above', 'below'];
/** lower numbers are built-in formats */
const FIRST_FORMAT = 164;

const FONTS_XML = `<fonts count="3"><font><sz val="10"/><name val="Arial"/><family val="2"/></font><font><b/><sz val="10"/><name val="Arial"/><family val="2"/></font><font><b/><sz val="14"/><name val="Arial"/><family val="2"/></font></fonts>`;
const FILLS_XML = `<fills count="3"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill><fill><patternFill patternType="solid"><fgColor rgb="FFE7E6E6"/><bgColor indexed="64"/></patternFill></fill></fills>`;
const BORDERS_XML = `<borders count="3"><border><left/><right/><top/><bottom/><diagonal/></border><border><left/><right/><top style="thin"><color auto="1"/></top><bottom/><diagonal/></border><border><left/><right/><top/><bottom style="thin"><color auto="1"/></bottom><diagonal/></border></borders>`;
const NAMED_XML = `<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>`;

/** The styles of a workbook, each once. */
export class StyleSheet {
  private readonly formats: string[] = [];
  private readonly styles: string[] = [];
  /** plain cells by their number format: nearly all cells of a long sheet */
  private readonly plain = new Map<string | undefined, number>();

  constructor() {
    this.indexOf({}); // index 0 is the default style
  }

  /** The index by which a cell refers to its style. */
  indexOf(style: CellStyle): number {
    const { font, shaded, line, align, wrap, format } = style;
    const isPlain = !font && !shaded && !line && !align && !wrap;
    if (!isPlain) return this.add(style);
    const index = this.plain.get(format) ?? this.add(style);
    this.plain.set(format, index);
    return index;
  }

  private add({ font, shaded, line, align, wrap, format }: CellStyle): number {
    const alignment = `<alignment${align ? ` horizontal="${align}"` : ''} vertical="top"${wrap ? ' wrapText="1"' : ''}/>`;
    const xml = `<xf numFmtId="${this.formatOf(format)}" fontId="${FONTS.indexOf(font ?? 'normal')}" fillId="${shaded ? 2 : 0}" borderId="${LINES.indexOf(line ?? 'none')}" xfId="0" applyNumberFormat="1" applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1">${alignment}</xf>`;
    const known = this.styles.indexOf(xml);
    return known >= 0 ? known : this.styles.push(xml) - 1;
  }

  private formatOf(format?: string): number {
    if (format === undefined) return 0;
    const known = this.formats.indexOf(format);
    return FIRST_FORMAT + (known >= 0 ? known : this.formats.push(format) - 1);
  }

  xml(namespace: string): string {
    const formats = this.formats.map(
      (format, index) => `<numFmt numFmtId="${FIRST_FORMAT + index}" formatCode="${xmlText(format)}"/>`,
    );
    const listed =
      formats.length > 0 ? `<numFmts count="${formats.length}">${formats.join('')}</numFmts>` : '';
    return `<styleSheet xmlns="${namespace}">${listed}${FONTS_XML}${FILLS_XML}${BORDERS_XML}${NAMED_XML}<cellXfs count="${this.styles.length}">${this.styles.join('')}</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`;
  }
}
