/** Time in Zurich by trial: without the time zone arithmetic of the service or PostgreSQL. */

const ZONE = 'Europe/Zurich';
export const TICK_MS = 5 * 60_000;

const wall = new Intl.DateTimeFormat('en-GB', {
  timeZone: ZONE,
  year: 'numeric',
  month: '2-digit',
  day: '2-digit',
  hour: '2-digit',
  minute: '2-digit',
  hourCycle: 'h23',
});

/** Local time as if it were UTC. [ms] */
const wallOf = (instant: number): number => {
  const parts = Object.fromEntries(wall.formatToParts(instant).map(({ type, value }) => [type, value]));
  return Date.parse(`${parts.year}-${parts.month}-${parts.day}T${parts.hour}:${parts.minute}:00Z`);
};

/** The instant of a local date and time, such as 2027-03-27 and 18:00. */
export const instantOf = (date: string, time: string): number => {
  const shown = Date.parse(`${date}T${time}:00Z`);
  const found = [2, 1].map((hours) => shown - hours * 3_600_000).find((t) => wallOf(t) === shown);
  if (found === undefined) throw new Error(`${date} ${time} is not on the wall`);
  return found;
};

export const dateAfter = (date: string, days: number): string =>
  new Date(Date.parse(`${date}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10);

/** The local date, less the time at which the day begins. */
export const productionDay = (instant: number, dayStart: string): string => {
  const [hours = 0, minutes = 0] = dayStart.split(':').map(Number);
  return new Date(wallOf(instant) - (hours * 60 + minutes) * 60_000).toISOString().slice(0, 10);
};

/** ISO 8601: the week is that of its Thursday; week 1 contains the year's first Thursday. */
export const isoWeek = (date: string): string => {
  const weekday = (new Date(`${date}T00:00:00Z`).getUTCDay() + 6) % 7;
  const thursday = dateAfter(date, 3 - weekday);
  const year = thursday.slice(0, 4);
  const days = (Date.parse(`${thursday}T00:00:00Z`) - Date.parse(`${year}-01-01T00:00:00Z`)) / 86_400_000;
  return `${year}-W${String(Math.floor(days / 7) + 1).padStart(2, '0')}`;
};

export const mondayOf = (date: string): string =>
  dateAfter(date, -((new Date(`${date}T00:00:00Z`).getUTCDay() + 6) % 7));
