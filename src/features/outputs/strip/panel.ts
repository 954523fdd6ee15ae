import { type TextWidths } from '../../../common/charts/fonts.js';
import { INK, type Mark, MIDDLE, type Pen, type Place } from '../../../common/drawing/drawing.js';
import type { HatchName } from '../../../common/drawing/hatches.js';
import { overlap, type Rectangle } from '../../../common/drawing/rectangle.js';
import { roundStep, multiples } from '../../../engineering/axis-ticks.js';

export const GREY = '#6b6b6b';
export const THIN: Pen = { colour: INK, width: 0.13 };
export const FINE: Pen = { colour: '#9a9a9a', width: 0.1 };
export const SMALL = 1.9;
const EDGE = 0.6;

/** An entry of the legend: a mark and its meaning. */
export interface LegendEntry {
  text: string;
  /** drawn in a box of 8 by 4 mm */
  sample: (x: number, y: number) => Mark[];
}

export type Legend = Map<string, LegendEntry>;

/** The part of the drive on a sheet, and its position. */
export interface Reach {
  /** By rising chainage. [m] */
  lowM: number;
  highM: number;
  /** Scale 1 : denominator. */
  denominator: number;
  /** Position of the low end. [mm] */
  left: number;
}

export const SAMPLE = { width: 8, height: 4 };

/** The sample of an area. */
export const areaSample =
  (look: { fill?: string; hatch?: HatchName; pen?: Pen }) =>
  (x: number, y: number): Mark[] => [{ kind: 'rect', x, y, ...SAMPLE, pen: THIN, ...look }];

/** The sample of a line. */
export const lineSample =
  (pen: Pen) =>
  (x: number, y: number): Mark[] => [
    {
      kind: 'line',
      places: [
        [x, y + 2],
        [x + SAMPLE.width, y + 2],
      ],
      pen,
    },
  ];

/** A track on a sheet: where it is, and what is drawn in it. */
export class Panel {
  readonly marks: Mark[] = [];
  readonly heads: Mark[] = [];
  private readonly taken: Rectangle[] = [];

  constructor(
    readonly reach: Reach,
    readonly top: number,
    readonly height: number,
    /** right edge of the headers */
    private readonly headRight: number,
    readonly widths: TextWidths,
    readonly legend: Legend,
  ) {}

  get bottom(): number {
    return this.top + this.height;
  }

  get left(): number {
    return this.reach.left;
  }

  get right(): number {
    return this.x(this.reach.highM);
  }

  /** Position of a chainage. [mm] */
  x(chainageM: number): number {
    return this.reach.left + ((chainageM - this.reach.lowM) * 1000) / this.reach.denominator;
  }

  /** The visible part of a stretch. [mm] */
  span([low, high]: [number, number]): [number, number] | undefined {
    const { lowM, highM } = this.reach;
    if (high < lowM || low > highM || (low !== high && (high === lowM || low === highM))) return undefined;
    return [this.x(Math.max(low, lowM)), this.x(Math.min(high, highM))];
  }

  /** Whether a place is on the sheet: the low end is included, the high end only at the end of the drawing. */
  has(chainageM: number, isLast: boolean): boolean {
    const { lowM, highM } = this.reach;
    return chainageM >= lowM && (chainageM < highM || (isLast && chainageM === highM));
  }

  rect(
    [left, right]: [number, number],
    [top, bottom]: [number, number],
    look: { fill?: string; hatch?: HatchName; pen?: Pen },
  ): void {
    this.marks.push({
      ...{ kind: 'rect', x: left, y: top, width: right - left, height: bottom - top },
      ...look,
    });
  }

  line(places: Place[], pen: Pen = THIN): void {
    this.marks.push({ kind: 'line', places, pen });
  }

  pieces(places: Place[], pen: Pen = THIN): void {
    if (places.length > 0) this.marks.push({ kind: 'pieces', places, pen });
  }

  text(
    text: string,
    x: number,
    middle: number,
    look: { size?: number; isBold?: boolean; anchor?: 'middle' | 'end'; colour?: string } = {},
  ): void {
    const { size = SMALL } = look;
    this.marks.push({ kind: 'text', text, x, y: middle + MIDDLE * size, ...look, size });
  }

  width(text: string, size = SMALL, isBold = false): number {
    return this.widths.of(text, size, isBold ? 'bold' : 'normal');
  }

  /**
   * Writes the first of the texts that fits in a box, horizontally or else upwards; on white where the box is hatched.
   * @returns the text written; undefined if none fits
   */
  label(
    texts: string[],
    [left, right]: [number, number],
    [top, bottom]: [number, number],
    look: { size?: number; isBold?: boolean; isOnHatch?: boolean; isLevel?: boolean } = {},
  ): string | undefined {
    const { size = SMALL, isBold = false, isOnHatch = false, isLevel = false } = look;
    const [x, y] = [(left + right) / 2, (top + bottom) / 2];
    for (const text of texts) {
      const width = this.width(text, size, isBold) + 2 * EDGE;
      if (width <= right - left && size * 1.1 <= bottom - top) {
        if (isOnHatch) this.backing(x, y, width, size * 1.25);
        this.text(text, x, y, { size, isBold, anchor: 'middle' });
        return text;
      }
      if (!isLevel && width <= bottom - top && size * 1.2 <= right - left) {
        if (isOnHatch) this.backing(x, y, size * 1.2, width);
        this.marks.push({
          ...{ kind: 'text', text, x: x + MIDDLE * size, y, size, isBold },
          ...{ anchor: 'middle', isUpright: true },
        });
        return text;
      }
    }
    return undefined;
  }

  private backing(x: number, y: number, width: number, height: number): void {
    this.rect([x - width / 2, x + width / 2], [y - height / 2, y + height / 2], { fill: '#ffffff' });
  }

  /**
   * Writes a text on white at the first of the positions that is free of other such texts, or not at all if none is.
   * @param places  left end and middle of the text [mm]
   */
  beside(text: string, places: Place[], size = SMALL): void {
    const width = this.width(text, size);
    for (const [x, middle] of places) {
      const left = Math.min(Math.max(x, this.left + EDGE), this.right - width - EDGE);
      const box = { left, right: left + width, top: middle - 0.62 * size, bottom: middle + 0.62 * size };
      if (left < this.left || box.top < this.top || box.bottom > this.bottom) continue;
      if (this.taken.some((other) => overlap(box, other))) continue;
      this.taken.push(box);
      this.backing(left + width / 2, middle, width, 1.24 * size); // otherwise lines of the axis would cross it
      this.text(text, left, middle, { size });
      return;
    }
  }

  /** Keeps such texts off a part of a line. */
  keepFree([left, right]: [number, number], middle: number, half: number): void {
    this.taken.push({ left, right, top: middle - half, bottom: middle + half });
  }

  /** Adds an entry to the legend of the sheet. */
  explain(key: string, text: string, sample: LegendEntry['sample']): void {
    if (!this.legend.has(key)) this.legend.set(key, { text, sample });
  }

  /** A value axis at the headers, with lines across. @returns a function for the position of a value */
  axis(from: number, to: number, pad = 1): (value: number) => number {
    const [top, bottom] = [this.top + pad, this.bottom - pad];
    const y = (value: number): number => bottom - ((value - from) * (bottom - top)) / (to - from);
    const step = roundStep(to - from, Math.max(1, Math.floor((bottom - top) / 3.2)));
    const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    this.ticks(multiples(from, to, step).map((value) => ({ at: y(value), text: value.toFixed(decimals) })));
    return y;
  }

  /** Lines across a band, with their values at the headers. */
  ticks(
    ticks: { at: number; text: string }[],
    [top, bottom]: [number, number] = [this.top, this.bottom],
  ): void {
    this.pieces(
      ticks.flatMap(({ at }): Place[] => [
        [this.left, at],
        [this.right, at],
      ]),
      FINE,
    );
    for (const { at, text } of ticks) this.headText(text, Math.min(Math.max(at, top + 1.1), bottom - 1.1));
  }

  /** At the right edge of the headers. */
  headText(text: string, middle: number, size = 1.7): void {
    this.heads.push({
      ...{ kind: 'text', text, x: this.headRight - 1.2, y: middle + MIDDLE * size },
      ...{ size, anchor: 'end', colour: GREY },
    });
  }
}

/** Writes labels from left to right, leaving out those that would overlap another. */
export class Row {
  private taken = -Infinity;

  constructor(
    private readonly panel: Panel,
    private readonly middle: number,
    private readonly size = SMALL,
  ) {}

  /** @returns whether it was written */
  put(text: string, x: number, anchor: 'start' | 'middle' = 'middle', isBold = false): boolean {
    const width = this.panel.width(text, this.size, isBold);
    let left = anchor === 'middle' ? x - width / 2 : x;
    left = Math.min(Math.max(left, this.panel.left), this.panel.right - width);
    if (left < this.taken + EDGE || left < this.panel.left) return false;
    this.panel.text(text, left, this.middle, { size: this.size, isBold });
    this.taken = left + width;
    return true;
  }
}
