import type { Paper, PaperFont } from './paper.js';

/** A column of a table on paper. Numbers are aligned at the decimal point. */
export interface PaperColumn {
  title: string;
  kind: 'text' | 'number';
  /** above the titles of several columns beside each other */
  over?: string;
  /** of a text: its maximum width; the column without one takes the rest [pt] */
  most?: number;
}

export interface PlacedColumn extends PaperColumn {
  x: number;
  width: number;
  /** of a number: widest part from the decimal point on [pt] */
  fraction: number;
}

/** Texts by column, and their layout. */
export interface WrittenCells {
  cells: string[];
  font: PaperFont;
}

/** Font sizes, tried from large to small until the widest text fits. [pt] */
const SIZES = [8, 7.5, 7, 6.5, 6, 5.5, 5];
const ROOM = 150;
const LEAST_ROOM = 60;
const GAP = 8;
/** Minimum width of a number column, as a multiple of the font size. */
const LEAST_OF_NUMBER = 4.5;

/** Layout of a table in small type. */
const COMPACT = { sizes: [7.5, 7, 6.5, 6, 5.5, 5], room: 90, gap: 6, leastOfNumber: 1 };
const USUAL = { sizes: SIZES, room: ROOM, gap: GAP, leastOfNumber: LEAST_OF_NUMBER };
type Spacing = typeof USUAL;

export const isRest = ({ kind, most }: PaperColumn): boolean => kind === 'text' && most === undefined;

/** Position of a number's decimal point, or where it would be. */
export const pointOf = (number: string): number => {
  const point = number.indexOf('.');
  return point < 0 ? number.length : point;
};

/** Columns as wide as their texts require, side by side. */
const placed = (
  paper: Paper,
  columns: PaperColumn[],
  written: WrittenCells[],
  area: { x: number; width: number },
  size: number,
  { gap, leastOfNumber }: Spacing,
): { columns: PlacedColumn[]; free: number } => {
  const widest = (column: number, part: (text: string) => string): number => {
    let most = 0;
    for (const { cells, font } of written)
      most = Math.max(most, paper.widthOf(part(cells[column] ?? ''), font, size));
    return most;
  };
  const asked = columns.map((column, index) => {
    const title = Math.max(...column.title.split(' ').map((word) => paper.widthOf(word, 'bold', size)));
    if (column.kind === 'text')
      return { width: Math.max(title, Math.min(widest(index, String), column.most ?? 0)), fraction: 0 };
    const fraction = widest(index, (text) => text.slice(pointOf(text)));
    return {
      width: Math.max(
        title,
        leastOfNumber * size,
        fraction + widest(index, (text) => text.slice(0, pointOf(text))),
      ),
      fraction,
    };
  });
  let free = area.width - gap * (columns.length - 1);
  for (const [index, { width }] of asked.entries()) if (!isRest(columns[index]!)) free -= width;
  let { x } = area;
  const spread = columns.some(isRest) ? 0 : Math.max(0, free) / Math.max(1, columns.length - 1);
  const places = columns.map((column, index) => {
    const { width, fraction } = asked[index]!;
    const place = { ...column, x, fraction, width: isRest(column) ? Math.max(LEAST_ROOM, free) : width };
    x += place.width + gap + spread;
    return place;
  });
  return { columns: places, free };
};

/** Places columns in an area, at the largest font size at which they fit. */
export const placeColumns = (
  paper: Paper,
  columns: PaperColumn[],
  written: WrittenCells[],
  area: { x: number; width: number },
  isCompact = false,
): { size: number; columns: PlacedColumn[] } => {
  const spacing = isCompact ? COMPACT : USUAL;
  const room = columns.some(isRest) ? spacing.room : 0;
  for (const size of spacing.sizes) {
    const { columns: places, free } = placed(paper, columns, written, area, size, spacing);
    if (free >= room || size === spacing.sizes.at(-1)) return { size, columns: places };
  }
  throw new RangeError('no size is left');
};
