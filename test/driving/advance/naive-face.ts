/**
 * A second, naive implementation of the face over time, second by second. It shares nothing with the service. Positions are driven
 * millimetres, times whole seconds since the start of the season.
 */
export interface NaiveBoring {
  stroke: number;
  from: number;
  to: number;
  /** undefined: without times */
  start?: number;
  end?: number;
}

interface Timed extends NaiveBoring {
  start: number;
  end: number;
}

export const isTimed = (boring: NaiveBoring): boring is Timed => boring.start !== undefined;

const sum = (all: number[]): number => all.reduce((total, value) => total + value, 0);

/** Position within an even boring at a second, with halves of a millimetre rounded up; integer arithmetic. */
const inside = ({ from, to, start, end }: Timed, second: number): number =>
  from + Math.floor((2 * (to - from) * (second - start) + (end - start)) / (2 * (end - start)));

export interface NaiveFace {
  faceMm: number;
  untimedMm: number;
  untimedAheadMm: number;
}

export const naiveFace = (borings: NaiveBoring[], second: number): NaiveFace => {
  let faceMm = 0;
  let boringNow = false;
  for (const boring of borings.filter(isTimed)) {
    if (second < boring.start) break;
    boringNow = second < boring.end;
    faceMm = boringNow ? inside(boring, second) : boring.to;
  }
  const untimed = borings.filter((boring) => !isTimed(boring));
  const next = borings.find((boring) => isTimed(boring) && boring.start > second)?.from ?? Infinity;
  const ahead = untimed.filter(({ from }) => from >= faceMm && from < next && !boringNow);
  const length = (some: NaiveBoring[]): number => sum(some.map(({ from, to }) => to - from));
  return {
    faceMm,
    untimedMm: length(untimed.filter(({ from }) => from < faceMm)),
    untimedAheadMm: length(ahead),
  };
};

/** Bored length by the name of its seconds. */
export interface Bored {
  mm: number;
  seconds: number;
  strokes: Set<number>;
}

/** Books every second of every boring under its name. */
export const booked = (borings: NaiveBoring[], nameOf: (second: number) => string): Map<string, Bored> => {
  const books = new Map<string, Bored>();
  for (const boring of borings.filter(isTimed))
    for (let second = boring.start; second < boring.end; second += 1) {
      const name = nameOf(second);
      const book = books.get(name) ?? { mm: 0, seconds: 0, strokes: new Set<number>() };
      books.set(name, book);
      book.mm += inside(boring, second + 1) - inside(boring, second);
      book.seconds += 1;
      book.strokes.add(boring.stroke);
    }
  return books;
};

/** Millimetres bored before each step of this many seconds, and before the end; borings begin and end with a step. */
export const boredBefore = (borings: NaiveBoring[], steps: number, seconds: number): number[] => {
  const cells = new Array<number>(steps).fill(0);
  for (const boring of borings.filter(isTimed))
    for (let second = boring.start; second < boring.end; second += seconds)
      cells[second / seconds] = inside(boring, second + seconds) - inside(boring, second);
  const before = [0];
  for (const mm of cells) before.push((before.at(-1) ?? 0) + mm);
  return before;
};
