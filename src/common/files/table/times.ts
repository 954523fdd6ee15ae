import { type CanonicalCell, type Cell, quoted, textOf } from './cell.js';

const CLOCK = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d+))?)?$/;
const DAY_MINUTES = 1440;
/** A time of day is stored as a binary fraction of a day. [min] */
const ROUNDING = 1e-6;

const two = (number: number): string => String(number).padStart(2, '0');

/** Minutes of a day as stored in a time cell; undefined: they are not whole, or not of one day. */
const minutesOf = (days: number): number | undefined => {
  const minutes = Math.round(days * DAY_MINUTES);
  const isWhole = Math.abs(days * DAY_MINUTES - minutes) < ROUNDING;
  return isWhole && minutes >= 0 && minutes < DAY_MINUTES ? minutes : undefined;
};

const isZero = (part = '0'): boolean => Number(part) === 0;

/** A time of day as HH:MM, from 6:00, 06:00:00 or the part of a day that a time cell stores. Only whole minutes are read. */
export const readTime = (cell: Cell, name: string): CanonicalCell => {
  const written = textOf(cell);
  const read = cell.kind === 'number' ? ofNumber(written) : ofText(written);
  if (read === undefined)
    return {
      text: written,
      fault: `${name} is ${shownAs(cell, written)}; it must be a time of day in whole minutes, HH:MM`,
    };
  return read === written
    ? { text: read }
    : { text: read, note: `${name} is ${shownAs(cell, written)}, read as ${read}` };
};

const shownAs = ({ kind }: Cell, written: string): string =>
  kind === 'number' ? `the number ${written}` : quoted(written);

const ofNumber = (written: string): string | undefined => {
  const minutes = minutesOf(Number(written));
  return minutes === undefined ? undefined : `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
};

/** Text that is no time of day is left for the rules of its field to refuse. */
const ofText = (written: string): string | undefined => {
  const [, hours, minutes = '', seconds, part] = CLOCK.exec(written) ?? [];
  if (hours === undefined) return written;
  return isZero(seconds) && isZero(part) ? `${hours.padStart(2, '0')}:${minutes}` : undefined;
};
