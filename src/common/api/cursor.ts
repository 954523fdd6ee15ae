import { type Columns, extra } from '../database/reading.js';
import { codeFault, TextField } from './fields.js';
import { faulty } from './problem.js';

// The cursor of a list is the key that orders it, so a page continues correctly even if the last entry of the page before has
// been removed. A key of one value is that value (a number, a moment); one of two is written place~name.

/** Cursor argument of a list ordered by place and name. */
export const CursorField = (): PropertyDecorator =>
  TextField({
    description: 'Only those after this place in the list: `next` of the page before, as it was answered',
    maxLength: 100,
    optional: true,
  });

/** Cursor of the next page of such a list. */
export const NextField = (): PropertyDecorator =>
  TextField({ description: 'Value of `after` for the next page; absent on the last page', optional: true });

/** The cursor of a row, as column `cursor`. @param place  driven metres, or a moment */
export const cursorBy = (
  place: { metres: string } | { moment: string },
  name: string,
): Columns<{ cursor: string }> =>
  extra<{ cursor: string }>({
    cursor:
      'metres' in place
        ? `${place.metres}::text || '~' || ${name}`
        : `to_char(${place.moment} at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"') || '~' || ${name}`,
  });

const METRES = /^-?\d{1,9}(\.\d{1,6})?$/;
const MOMENT = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$/;

const isMoment = (text: string): boolean => MOMENT.test(text) && !Number.isNaN(Date.parse(text));

interface Place {
  /** Driven metres, or a moment. */
  at: string;
  name: string;
}

const read = (after: string, isPlace: (text: string) => boolean): Place => {
  const cut = after.indexOf('~');
  const [at, name] = [after.slice(0, Math.max(cut, 0)), after.slice(cut + 1)];
  if (isPlace(at) && codeFault(name) === undefined) return { at, name };
  const detail =
    'after must be the `next` of a page of this list, or the cursor of an entry, as it was answered';
  throw faulty('invalid', [{ in: 'query', pointer: '/after', value: after, detail }]);
};

/** The place along the drive after which a page begins; without a cursor, before everything. @throws ProblemError invalid */
export const afterMetres = (after: string | null | undefined): Place =>
  after == null ? { at: '-1', name: '' } : read(after, (text) => METRES.test(text));

/** The moment after which a page begins; without a cursor, before everything. @throws ProblemError invalid */
export const afterMoment = (after: string | null | undefined): Place =>
  after == null ? { at: '-infinity', name: '' } : read(after, isMoment);
