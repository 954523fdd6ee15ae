/** Three weeks in Zurich around a change of the clocks and an end of month, named minute by minute. */
export interface Season {
  first: number;
  minutes: number;
}

const MINUTES = 22 * 1440;

/** Clocks change on 2027-03-28 and 2027-10-31; 1 April begins a quarter. */
export const SEASONS: Season[] = ['2027-03-24T00:00:00Z', '2027-10-27T00:00:00Z'].map((first) => ({
  first: Date.parse(first),
  minutes: MINUTES,
}));

export const instant = ({ first }: Season, second: number): string =>
  new Date(first + second * 1000).toISOString();

const WALL_CLOCK = new Intl.DateTimeFormat('sv-SE', {
  timeZone: 'Europe/Zurich',
  dateStyle: 'short',
  timeStyle: 'short',
});

export const dayBefore = (date: string, days = 1): string =>
  new Date(Date.parse(`${date}T12:00:00Z`) - days * 86_400_000).toISOString().slice(0, 10);

/** Local time, and from it the day that has begun: yesterday's before the start of day. */
const productionDay = (milliseconds: number, dayStart: string): string => {
  const [date = '', time = ''] = WALL_CLOCK.format(milliseconds).split(' ');
  return time >= dayStart ? date : dayBefore(date);
};

const names = new Map<string, string[]>();

/** The production day of each minute of the season. */
export const daysOf = ({ first, minutes }: Season, dayStart: string): string[] => {
  const key = `${first} ${dayStart}`;
  const known =
    names.get(key) ??
    Array.from({ length: minutes }, (_, minute) => productionDay(first + minute * 60_000, dayStart));
  names.set(key, known);
  return known;
};

/** Computes the name of each date only once. */
const onceADate = (nameOf: (date: string) => string): ((date: string) => string) => {
  const known = new Map<string, string>();
  return (date) => {
    const name = known.get(date) ?? nameOf(date);
    known.set(date, name);
    return name;
  };
};

/** ISO 8601: a week belongs to the year of its Thursday. */
export const weekOf = onceADate((date) => {
  const weekday = (new Date(`${date}T12:00:00Z`).getUTCDay() + 6) % 7;
  const thursday = dayBefore(date, weekday - 3);
  const year = thursday.slice(0, 4);
  let week = 1;
  for (let day = dayBefore(thursday, 7); day.startsWith(year); day = dayBefore(day, 7)) week += 1;
  return `${year}-W${String(week).padStart(2, '0')}`;
});

export const monthOf = (date: string): string => date.slice(0, 7);

export const quarterOf = onceADate(
  (date) => `${date.slice(0, 4)}-Q${Math.ceil(Number(date.slice(5, 7)) / 3)}`,
);
