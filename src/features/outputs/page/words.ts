import { short } from '../diagrams/diagram.js';

/** A length as answered by the service, without trailing zeros. */
export const metres = (value: string): string => `${short(value)}\u00a0m`;

/** A moment in the site's local time. */
export const moment = (at: string | Date, timeZone: string): string =>
  new Intl.DateTimeFormat('en-GB', { timeZone, dateStyle: 'medium', timeStyle: 'short' }).format(
    new Date(at),
  );

/** A date with its day of the week. */
export const day = (date: string): string =>
  new Intl.DateTimeFormat('en-GB', {
    timeZone: 'UTC',
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    year: 'numeric',
  }).format(new Date(date));

/** Metres ahead of a programme, or behind it. */
export const aheadInWords = (aheadM: string): string =>
  aheadM.startsWith('-') ? `${metres(aheadM.slice(1))} behind` : `${metres(aheadM)} ahead`;

export const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;
