import type { HatchName } from './hatches.js';

/**
 * A drawing for paper, as plain data: a few kinds of marks, in millimetres from the top left of a sheet. It is written as SVG
 * (`svg.ts`) or as PDF (`pdf.ts`), so that both show the same.
 */
export interface Sheet {
  /** [mm] */
  width: number;
  /** [mm] */
  height: number;
  /** Alternative text. */
  title: string;
  marks: Mark[];
}

export type Place = readonly [x: number, y: number];

export interface Pen {
  colour: string;
  /** [mm] */
  width: number;
  /** Lengths of dashes and gaps; none: solid. [mm] */
  dashes?: readonly number[];
}

export type Mark =
  /** A line through points; a closed one may be filled. */
  | { kind: 'line'; places: readonly Place[]; pen?: Pen; isClosed?: boolean; fill?: string }
  /** Separate straight segments in one pen: two points each. */
  | { kind: 'pieces'; places: readonly Place[]; pen: Pen }
  | {
      kind: 'rect';
      x: number;
      y: number;
      width: number;
      height: number;
      pen?: Pen;
      fill?: string;
      hatch?: HatchName;
    }
  /** Discs of one size. */
  | { kind: 'dots'; places: readonly Place[]; radius: number; fill: string; pen?: Pen }
  | {
      kind: 'text';
      text: string;
      /** x of its start, middle or end; y of its baseline */
      x: number;
      y: number;
      /** [mm] */
      size: number;
      anchor?: 'middle' | 'end';
      isBold?: boolean;
      colour?: string;
      /** Rotated to read upwards. */
      isUpright?: boolean;
    }
  /** A named group. */
  | { kind: 'group'; name: string; marks: Mark[] };

export const INK = '#111111';

/** Distance from the middle of a line of text to its baseline, as a multiple of its size. */
export const MIDDLE = 0.36;
