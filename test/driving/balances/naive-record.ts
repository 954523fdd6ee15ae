/**
 * A second, naive implementation of what a record may contain: every millimetre and every half hour is a cell in an array.
 * It shares nothing with the service. Positions are driven millimetres, times half hours since the first midnight.
 */
export interface NaiveBoring {
  number: number;
  from: number;
  to: number;
  start: number;
  end: number;
}

export interface NaiveActivity {
  code: 'BORE' | 'MAINT';
  start: number;
  end: number;
}

export interface NaiveShift {
  /** 0 the first day shift, 1 the first night shift, 2 the second day shift … */
  slot: number;
  submitted: boolean;
  borings: NaiveBoring[];
  activities: NaiveActivity[];
}

export const LENGTH_MM = 12_000;

/** Shifts start at 06:00 and 18:00. */
export const hoursOf = (slot: number): [number, number] => [12 + slot * 24, 36 + slot * 24];

const cells = (from: number, to: number): number[] =>
  Array.from({ length: Math.max(to - from, 0) }, (_, i) => from + i);

const twice = (all: number[]): boolean => new Set(all).size < all.length;

const sum = (all: number[]): number => all.reduce((total, value) => total + value, 0);

const lasts = (items: { start: number; end: number }[]): number =>
  sum(items.map(({ start, end }) => end - start));

const soundAlone = ({ slot, borings, activities }: NaiveShift): boolean => {
  const [start, end] = hoursOf(slot);
  const inside = [...borings, ...activities].every(
    (item) => item.start >= start && item.end <= end && item.end > item.start,
  );
  return inside && borings.every(({ from, to }) => from >= 0 && to > from && to <= LENGTH_MM);
};

const tiled = ({ slot, borings, activities }: NaiveShift): boolean => {
  const [start, end] = hoursOf(slot);
  return (
    lasts(activities) === end - start &&
    lasts(activities.filter(({ code }) => code === 'BORE')) === lasts(borings)
  );
};

/** Whether these shifts may be in the record together. */
export const mayStand = (shifts: NaiveShift[]): boolean => {
  if (!shifts.every(soundAlone)) return false;
  const borings = shifts.flatMap((shift) => shift.borings);
  if (twice(borings.flatMap(({ from, to }) => cells(from, to)))) return false;
  if (twice(borings.flatMap(({ start, end }) => cells(start, end)))) return false;
  if (shifts.some(({ activities }) => twice(activities.flatMap(({ start, end }) => cells(start, end)))))
    return false;
  const risen = borings.every((a) =>
    borings.every((b) => a.from >= b.from || (a.end <= b.start && a.number <= b.number)),
  );
  const submitted = shifts.filter((shift) => shift.submitted);
  const face = Math.max(0, ...submitted.flatMap((shift) => shift.borings.map(({ to }) => to)));
  const bored = new Set(borings.flatMap(({ from, to }) => cells(from, to)));
  return risen && submitted.every(tiled) && cells(0, face).every((cell) => bored.has(cell));
};

export interface Figures {
  faceMm: number;
  boredMm: number;
  missingMm: number;
  missingMinutes: number;
  /** slot → millimetres */
  shifts: Record<number, number>;
  /** day since the first → millimetres; days begin at midnight */
  days: Record<number, number>;
}

/** Position of the face within a boring at a half hour, to the millimetre, halves up; integer arithmetic. */
const faceAt = ({ from, to, start, end }: NaiveBoring, time: number): number => {
  const part = Math.min(Math.max(time, start), end) - start;
  return from + Math.floor((2 * (to - from) * part + (end - start)) / (2 * (end - start)));
};

export const figures = (shifts: NaiveShift[]): Figures => {
  const borings = shifts.flatMap((shift) => shift.borings);
  const faceMm = Math.max(0, ...borings.map(({ to }) => to));
  const boredMm = sum(borings.map(({ from, to }) => to - from));
  const days: Record<number, number> = {};
  for (const boring of borings)
    for (let day = 0; day < 20; day += 1) {
      const part = faceAt(boring, (day + 1) * 48) - faceAt(boring, day * 48);
      if (part > 0) days[day] = (days[day] ?? 0) + part;
    }
  return {
    faceMm,
    boredMm,
    missingMm: faceMm - boredMm,
    missingMinutes: sum(shifts.map(({ activities }) => (24 - lasts(activities)) * 30)),
    shifts: Object.fromEntries(
      shifts.map(({ slot, borings: own }) => [slot, sum(own.map(({ from, to }) => to - from))]),
    ),
    days,
  };
};
