import type { Scenario } from '../../src/demo/scenario.js';
import type { ShiftBoring, ShiftSupport } from '../../src/features/driving/shifts/shift-document.model.js';

/** Figures of the scenario computed in whole numbers from its documents, without the service's code. */

export const START_MM = 3_420_000;
export const END_MM = 2_400_000;

/** `3+099.920` as 3099920. */
export const mm = (chainage: string): number => Number(chainage.replace(/[+.]/g, ''));

/** `12.3` as 12300, `24` as 24000. */
export const thousandths = (decimal: string): number => {
  const [whole = '', part = ''] = decimal.split('.');
  return Number(whole + part.padEnd(3, '0'));
};

/** 12300 as `12.300`. */
export const threeDecimals = (value: number): string => {
  const digits = String(value).padStart(4, '0');
  return `${digits.slice(0, -3)}.${digits.slice(-3)}`;
};

export const chainage = (value: number): string => {
  const digits = String(value).padStart(7, '0');
  return `${digits.slice(0, -6)}+${digits.slice(-6, -3)}.${digits.slice(-3)}`;
};

export interface NumberedBoring extends ShiftBoring {
  stroke: number;
}

export const boringsOf = ({ shifts }: Scenario): NumberedBoring[] =>
  shifts.flatMap(({ document }) =>
    document.strokes.flatMap(({ number, borings }) =>
      borings.map((boring) => ({ ...boring, stroke: number })),
    ),
  );

export const lengthOf = ({ from, to }: { from: string; to: string }): number => mm(from) - mm(to);

export const sum = (values: number[]): number => values.reduce((total, value) => total + value, 0);

/** The date by local time six hours before a moment written in local time. */
export const dayFromSix = (localText: string): string => {
  const clock = Date.parse(`${localText.slice(0, 19)}Z`);
  return new Date(clock - 6 * 3_600_000).toISOString().slice(0, 10);
};

export const secondsOf = ({ startedAt, endedAt }: { startedAt: string; endedAt: string }): number =>
  (Date.parse(endedAt) - Date.parse(startedAt)) / 1000;

/** Part of a line of support within the chainages, in thousandths: for pieces those that lie there, spread evenly; otherwise by length. */
export const within = (line: ShiftSupport, high: number, low: number): number => {
  const quantity = thousandths(line.quantity);
  const from = mm(line.from);
  if (!line.to) return from <= high && from > low ? quantity : 0;
  const length = from - mm(line.to);
  if (/BOLT|RIB/.test(line.item)) {
    const places = Array.from(
      { length: quantity / 1000 },
      (_, i) => from - ((i + 0.5) * length) / (quantity / 1000),
    );
    return places.filter((place) => place <= high && place > low).length * 1000;
  }
  const upTo = (at: number): number =>
    Math.round((quantity * Math.min(length, Math.max(0, from - at))) / length);
  return upTo(low) - upTo(high);
};
