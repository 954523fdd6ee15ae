import type { Panel } from '../../../common/charts/chart.js';
import type { Window } from '../../../common/api/chainage-window.js';
import type { Statements } from '../../../common/database/database.js';

/** Meaning of from and to: production days, chainages, or nothing. */
export const DiagramExtent = { days: 'days', chainage: 'chainage', none: 'none' } as const;
export type DiagramExtent = (typeof DiagramExtent)[keyof typeof DiagramExtent];

export type DiagramOption = 'baseline' | 'programme';

/** The parsed options of a diagram. */
export interface Asked {
  /** First and last production day; null: open. */
  days: [string | null, string | null];
  /** The part of the drive. */
  window: Window;
  baseline?: string;
  programme?: string;
}

export interface Reading extends Asked {
  id: number;
  statements: Statements;
  project: string;
  drive: string;
}

/** The content of a diagram. */
export interface Shown {
  panels: Panel[];
  /** The period or the part of the drive, and anything else that the title should state. */
  period: string;
  notes?: string[];
  /** Why there is nothing to draw. */
  empty?: string;
}

export interface Diagram {
  name: string;
  title: string;
  about: string;
  extent: DiagramExtent;
  takes: DiagramOption[];
  /** Views and functions of schema report with its data. */
  views: string[];
  show: (reading: Reading) => Promise<Shown>;
}

const DAY_MS = 86_400_000;

/** A day, or a time in the project's local time, in milliseconds as if it were UTC. */
export const timeOf = (text: string): number => Date.parse(text.length === 10 ? text : `${text}Z`);

export const dayAfter = (day: string): number => timeOf(day) + DAY_MS;

export const HALF_A_DAY_MS = DAY_MS / 2;

/** The range of days shown, in words. */
export const daysInWords = (first: string | undefined, last: string | undefined): string =>
  first === undefined || last === undefined ? 'whole record' : `production days ${first} to ${last}`;

/** Ends of the part of the drive on the axis, rising. [m] */
export const chainageEnds = ({ fromChainageM, toChainageM }: Window): { from: number; to: number } => {
  const ends = [Number(fromChainageM), Number(toChainageM)];
  return { from: Math.min(...ends), to: Math.max(...ends) };
};

/** An exact number for display: without trailing zeros. */
export const short = (decimal: string): string =>
  decimal.includes('.') ? decimal.replace(/\.?0+$/, '') : decimal;

export const NOTHING_BORED = 'Nothing is recorded in this period.';
