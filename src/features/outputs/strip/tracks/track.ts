import type { Head, RowsName, StripRows } from '../strip-data.js';
import type { Panel } from '../panel.js';

/** Data for a track, and about the whole interval. */
export interface Drawn {
  head: Head;
  rows: StripRows;
  lowM: number;
  highM: number;
}

/** A track of the strip. */
export interface Track {
  name: string;
  title: string;
  /** unit and other text under the title */
  under?: string;
  about: string;
  /** usual height [mm]; for several bands, the sum of their heights */
  height: (drawn: Drawn) => number;
  rows: RowsName[];
  /** Views of schema report. */
  views: string[];
  /** Caution printed on sheets with the track. */
  caution?: string;
  draw: (panel: Panel, drawn: Drawn) => void;
}

export const isLast = (panel: Panel, { highM }: Drawn): boolean => panel.reach.highM >= highM;
