import { multiples, roundStep } from '../../engineering/axis-ticks.js';
import { formatChainage } from '../../engineering/chainage.js';
import type { Axis } from './chart.js';

export interface Tick {
  at: number;
  label: string;
}

const DAY_MS = 86_400_000;
const MONTH_MS = 30.44 * DAY_MS;

const numberText = (value: number, step: number): string => {
  const decimals = Math.min(9, Math.max(0, -Math.floor(Math.log10(step) + 1e-9)));
  return value.toFixed(decimals);
};

/** Without decimals where the step is in whole metres. */
const chainageLabel = (metres: number, step: number): string => {
  const text = formatChainage(Math.round(metres * 1000));
  return step >= 1 ? text.replace(/\.\d+$/, '') : text;
};

const dateText = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

const MONDAY = Date.UTC(2024, 0, 1);

const dayTicks = (from: number, to: number, days: number): Tick[] =>
  multiples((from - MONDAY) / DAY_MS, (to - MONDAY) / DAY_MS, days).map((day) => {
    const at = MONDAY + day * DAY_MS;
    return { at, label: dateText(at) };
  });

const monthTicks = (from: number, to: number, months: number): Tick[] => {
  const [first, last] = [new Date(from), new Date(to)];
  const number = (date: Date): number => date.getUTCFullYear() * 12 + date.getUTCMonth();
  return multiples(number(first), number(last), months)
    .map((month) => {
      const at = Date.UTC(Math.floor(month / 12), month % 12, 1);
      return { at, label: months % 12 === 0 ? dateText(at).slice(0, 4) : dateText(at).slice(0, 7) };
    })
    .filter(({ at }) => at >= from && at <= to);
};

/** Dates on which weeks, months or years begin, whichever leaves enough space between them. */
const timeTicks = (from: number, to: number, most: number): Tick[] => {
  const length = (to - from) / most;
  const days = [1, 2, 7, 14].find((each) => each * DAY_MS >= length);
  if (days !== undefined) return dayTicks(from, to, days);
  const months = [1, 2, 3, 6, 12, 24, 60, 120, 600, 1200].find((each) => each * MONTH_MS >= length) ?? 12_000;
  return monthTicks(from, to, months);
};

/** @param most  number of ticks that fit side by side */
export const ticksOf = ({ kind, from, to, lanes = [] }: Axis, most: number): Tick[] => {
  if (kind === 'lanes') return lanes.map((label, at) => ({ at, label }));
  if (kind === 'time') return timeTicks(from, to, Math.max(1, most));
  const step = roundStep(to - from, Math.max(1, most));
  const text = kind === 'chainage' ? chainageLabel : numberText;
  return multiples(from, to, kind === 'chainage' ? Math.max(step, 0.001) : step).map((at) => ({
    at,
    label: text(at, step),
  }));
};
