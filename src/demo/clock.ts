export const MINUTE = 60_000;
const HOUR = 60 * MINUTE;

/** Local clocks are put forward from 02:00 to 03:00 at this instant: the night shift of 27 March lasts 11 h. */
const SUMMER_TIME = Date.parse('2021-03-28T01:00:00Z');

/** The instant of a full local hour; the hour must exist and the date be in spring or summer 2021. */
export const localInstant = (date: string, hour: number): number => {
  const winter = Date.parse(`${date}T${String(hour).padStart(2, '0')}:00:00+01:00`);
  return winter >= SUMMER_TIME ? winter - HOUR : winter;
};

/** An instant in local time with its offset, as on a shift sheet. */
export const localText = (at: number): string => {
  const offsetHours = at >= SUMMER_TIME ? 2 : 1;
  return `${new Date(at + offsetHours * HOUR).toISOString().slice(0, 19)}+0${offsetHours}:00`;
};

/** The date a number of days later. */
export const dateAfter = (date: string, days: number): string =>
  new Date(Date.parse(`${date}T00:00:00Z`) + days * 24 * HOUR).toISOString().slice(0, 10);
