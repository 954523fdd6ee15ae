import type { Head, RowsName, StripRows } from '../strip-data.js';
import type { Panel } from '../panel.js';

/** What a track is drawn from and knows of the whole interval. */
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
  /** unit and what else stands under the title */
  under?: string;
  about: string;
  /** usual height [mm]; several bands give as many times it */
  height: (drawn: Drawn) => number;
  rows: RowsName[];
  /** Views of schema report. */
  views: string[];
  /** What the sheet says where the track is drawn. */
  caution?: string;
  draw: (panel: Panel, drawn: Drawn) => void;
}

export const isLast = (panel: Panel, { highM }: Drawn): boolean => panel.reach.highM >= highM;
