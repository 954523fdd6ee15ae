/**
 * What is to be drawn, as plain data: it travels to the thread that draws. Values are in the units that the axes name. A time is
 * in milliseconds, the time shown by the clocks of the project read as if it were UTC.
 */
export interface Chart {
  title: string;
  /** Lines under the title: of what, from when to when, as of when, from where. */
  about: string[];
  /** Lines at the foot. */
  notes: string[];
  /** Why nothing is drawn; then there are no panels. */
  empty?: string;
  /** One above the other. */
  panels: Panel[];
}

export interface Panel {
  /** How high: a part of what the panels share, or pixels. */
  height: { share: number } | { px: number };
  x: Axis;
  y: Axis;
  /** Above the panel; series with `isOnTop` go by it. */
  top?: Axis;
  series: Series[];
}

export interface Axis {
  kind: 'number' | 'chainage' | 'time' | 'lanes';
  /** What it shows, with its unit in brackets; empty: nothing is written beside it. */
  label: string;
  from: number;
  to: number;
  /** Of kind lanes: what stands at 0, 1, 2, … */
  lanes?: string[];
  /** Without numbers: those of the panel below hold. */
  isBare?: boolean;
}

export type Point = readonly [x: number, y: number | null];

export interface Box {
  fromX: number;
  toX: number;
  fromY: number;
  toY: number;
}

interface Named {
  /** As the legend has it; series of one name have one entry. */
  name: string;
  /** Place in the list of looks. */
  look: number;
  isOnTop?: boolean;
}

/** Joined by straight lines, by rising or falling x, or with neither. */
export interface Line extends Named {
  kind: 'line';
  points: Point[];
  /** With a mark at each point. */
  isMarked?: boolean;
  /** Kept as it is: it does not run along x. */
  isWhole?: boolean;
}

export interface Boxes extends Named {
  kind: 'boxes';
  boxes: Box[];
}

/** Marks that stand alone. */
export interface Marks extends Named {
  kind: 'marks';
  points: Point[];
  /** Beside each. */
  labels?: string[];
}

/** Words without a mark, to the right of their points; not in the legend. */
export interface Words {
  kind: 'words';
  points: Point[];
  labels: string[];
  isOnTop?: boolean;
}

export type Series = Line | Boxes | Marks | Words;

/** Of the drawing. [px] */
export interface Size {
  width: number;
  height: number;
}
