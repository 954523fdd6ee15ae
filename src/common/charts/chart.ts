/**
 * A chart as plain data, so that it can be sent to the drawing thread. Values are in the units named on the axes. A time is in
 * milliseconds: the project's local time taken as if it were UTC.
 */
export interface Chart {
  title: string;
  /** Lines under the title: subject, period, as-of moment, source. */
  about: string[];
  /** Lines at the foot. */
  notes: string[];
  /** Why nothing is drawn; then there are no panels. */
  empty?: string;
  /** From top to bottom. */
  panels: Panel[];
}

export interface Panel {
  /** Height: a share of the height available to panels, or pixels. */
  height: { share: number } | { px: number };
  x: Axis;
  y: Axis;
  /** Axis above the panel; series with `isOnTop` use it. */
  top?: Axis;
  series: Series[];
}

export interface Axis {
  kind: 'number' | 'chainage' | 'time' | 'lanes';
  /** Quantity, with its unit in brackets; empty: no label. */
  label: string;
  from: number;
  to: number;
  /** For kind lanes: the names of lanes 0, 1, 2, … */
  lanes?: string[];
  /** Without numbers: the panel below shows them. */
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
  /** Name in the legend; series with the same name share one entry. */
  name: string;
  /** Index in the list of looks. */
  look: number;
  isOnTop?: boolean;
}

/** A line of straight segments, by rising or falling x, or neither. */
export interface Line extends Named {
  kind: 'line';
  points: Point[];
  /** Whether each point has a mark. */
  isMarked?: boolean;
  /** Not thinned out: it does not run along x. */
  isWhole?: boolean;
}

export interface Boxes extends Named {
  kind: 'boxes';
  boxes: Box[];
}

/** Separate marks. */
export interface Marks extends Named {
  kind: 'marks';
  points: Point[];
  /** Label of each mark. */
  labels?: string[];
}

/** Text without a mark, to the right of its point; not in the legend. */
export interface Words {
  kind: 'words';
  points: Point[];
  labels: string[];
  isOnTop?: boolean;
}

export type Series = Line | Boxes | Marks | Words;

/** Size of the drawing. [px] */
export interface Size {
  width: number;
  height: number;
}
