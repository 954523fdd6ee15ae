import type { TimeClass } from '../../../generated/prisma/enums.js';
import type { Hatch } from '../../../common/files/paper.js';
import type { PaperColumn } from '../../../common/files/paper-columns.js';

/** A part of a sheet, in order, whether it is drawn on paper or written as a page. */
export type Block =
  /** pairs of label and value, in columns side by side */
  | { kind: 'facts'; facts: [label: string, value: string][] }
  | { kind: 'bar'; cells: BarCell[]; legend: BarLegend[]; about: string }
  | SheetTable
  | { kind: 'text'; title: string; text: string }
  | { kind: 'caution'; text: string }
  | { kind: 'signatures'; signatures: SheetSignature[]; notes: string[] };

export interface SheetTable {
  kind: 'table';
  title: string;
  columns: PaperColumn[];
  rows: { cells: string[]; note?: string; isTotal?: boolean }[];
}

/** A quarter of an hour: its classes in order of first occurrence. */
export interface BarCell {
  /** start time, such as 06:30 */
  clock: string;
  /** fraction of the whole bar, from 0 to 1 */
  from: number;
  to: number;
  parts: { look: TimeLook; from: number; to: number }[];
  /** of the class with the longest time in it */
  letter: string;
}

export interface BarLegend {
  look: TimeLook;
  time: string;
}

export interface SheetSignature {
  side: string;
  /** names of its parties, one per line */
  parties: string[];
  /** what the record shows about the signature */
  record: string;
}

export interface Sheet {
  title: string;
  /** project and drive */
  place: string;
  blocks: Block[];
  /** footer of each page */
  foot: string;
}

/** How time of a class is drawn: by our own letter and hatch, never by colour alone. */
export interface TimeLook {
  letter: string;
  words: string;
  hatch: Hatch;
}

export const NOT_BOOKED: TimeLook = { letter: 'N', words: 'not booked', hatch: 'upright' };

export const TIME_LOOKS: Record<TimeClass, TimeLook> = {
  boring: { letter: 'B', words: 'boring', hatch: 'solid' },
  regripping: { letter: 'R', words: 'regripping', hatch: 'grey' },
  planned_stop: { letter: 'P', words: 'planned stop', hatch: 'rising' },
  breakdown: { letter: 'D', words: 'breakdown', hatch: 'crossed' },
  ground: { letter: 'G', words: 'ground', hatch: 'dotted' },
  waiting: { letter: 'W', words: 'waiting', hatch: 'level' },
  outside_working_time: { letter: 'O', words: 'outside working time', hatch: 'blank' },
};

export const lookOf = (timeClass: TimeClass | null | undefined): TimeLook =>
  timeClass == null ? NOT_BOOKED : TIME_LOOKS[timeClass];
