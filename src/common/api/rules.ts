import {
  buildMessage,
  Matches,
  ValidateBy,
  type ValidationArguments,
  type ValidationOptions,
} from 'class-validator';
import { SMALLEST_READING } from '../../engineering/stroke-values.js';
import { parseChainage } from '../../engineering/chainage.js';
import { isObject } from './is-object.js';
import type { EachHolds } from './problem.js';

type Rule = (options?: ValidationOptions) => PropertyDecorator;

const rule =
  (name: string, holds: (value: unknown) => boolean, must: string): Rule =>
  (options) =>
    ValidateBy(
      {
        name,
        validator: {
          validate: holds,
          defaultMessage: buildMessage((each) => `${each}$property ${must}`, options),
        },
      },
      options,
    );

/** A rule whose message depends on the value. */
const faultRule =
  (name: string, faultOf: (value: unknown) => string | undefined): Rule =>
  () =>
    ValidateBy({
      name,
      validator: {
        validate: (value) => faultOf(value) === undefined,
        defaultMessage: (given) => `$property ${faultOf(given?.value) ?? ''}`,
      },
    });

export const isChainage = (value: unknown): boolean => {
  if (typeof value !== 'string' && typeof value !== 'number') return false;
  try {
    parseChainage(String(value));
    return true;
  } catch {
    return false;
  }
};

const CHAINAGE = 'must be a chainage such as 12+345.678, or metres, to the millimetre';

export const IsChainage = rule('isChainage', isChainage, CHAINAGE);

/** Pattern of a decimal number as text. */
export const decimalPattern = (min: number, decimals: number): string =>
  `^${min < 0 ? '-?' : ''}(?:0|[1-9]\\d{0,11})(?:\\.\\d{1,${decimals}})?$`;

const decimalBetween = (min: number, max: number, decimals: number): ((value: unknown) => boolean) => {
  const pattern = new RegExp(decimalPattern(min, decimals));
  return (value) =>
    (typeof value === 'string' || typeof value === 'number') &&
    pattern.test(String(value)) &&
    Number(value) >= min &&
    Number(value) <= max;
};

/** Limits are written out: a decimal has no exponent, while JavaScript may print one. */
const mustBeBetween = (min: number, max: number, decimals: number): string =>
  String(min).includes('e')
    ? `must be a number from ${min.toFixed(decimals)} to ${max} with at most ${decimals} decimals, without an exponent`
    : `must be a number from ${min} to ${max} with at most ${decimals} decimals`;

/** A decimal number with at most `decimals` decimals and a size from `min` to `max`, as a number or a string. */
export const IsDecimalBetween = (min: number, max: number, decimals: number): PropertyDecorator =>
  rule('isDecimalBetween', decimalBetween(min, max, decimals), mustBeBetween(min, max, decimals))();

/**
 * A number with at most `decimals` decimals, counted as decimal text. The rule of class-validator fails on numbers that
 * JavaScript prints with an exponent, such as 1e-7.
 */
export const HasDecimals = (decimals: number, message: string): PropertyDecorator => {
  const plain = new RegExp(`^-?\\d+(\\.\\d{1,${decimals}})?$`);
  return ValidateBy({
    name: 'hasDecimals',
    validator: {
      validate: (value) => typeof value === 'number' && plain.test(String(value)),
      defaultMessage: () => message,
    },
  });
};

const wholeBetween =
  (min: number, max: number): ((value: unknown) => boolean) =>
  (value) =>
    Number.isInteger(value) && Number(value) >= min && Number(value) <= max;

const mustBeWhole = (min: number, max: number): string =>
  `must be a whole number from ${min} to ${max}, in digits alone`;

/** A whole number from `min` to `max`. */
export const IsWholeBetween = (min: number, max: number): PropertyDecorator =>
  rule('isWholeBetween', wholeBetween(min, max), mustBeWhole(min, max))();

/** Validates the values of a list. Each invalid value is reported as a separate fault that gives its position: see `faultsOf`. */
const listRule = (name: string, holds: (value: unknown) => boolean, must: string): PropertyDecorator => {
  const ofEach: EachHolds = { holds, must };
  return ValidateBy(
    {
      name,
      validator: {
        validate: (list) => !Array.isArray(list) || list.every(holds), // another rule checks that it is a list
        defaultMessage: () => `each of $property ${must}`,
      },
    },
    { context: ofEach },
  );
};

export const AreWholeBetween = (min: number, max: number): PropertyDecorator =>
  listRule('areWholeBetween', wholeBetween(min, max), mustBeWhole(min, max));

export const AreOneOf = (values: readonly string[]): PropertyDecorator =>
  listRule('areOneOf', (value) => values.includes(value as string), `must be one of ${values.join(', ')}`);

export const AreTextsUpTo = (maxLength: number): PropertyDecorator =>
  listRule(
    'areTextsUpTo',
    (value) => typeof value === 'string' && value.length <= maxLength,
    `must be text of at most ${maxLength} characters`,
  );

export const AreChainages = listRule('areChainages', isChainage, CHAINAGE);

export const AreDecimalsBetween = (min: number, max: number, decimals: number): PropertyDecorator =>
  listRule('areDecimalsBetween', decimalBetween(min, max, decimals), mustBeBetween(min, max, decimals));

const INSTANT = /^\d{4}-\d{2}-\d{2}T([01]\d|2[0-3]):\d{2}(:\d{2}(\.\d{1,3})?)?(Z|[+-](0\d|1[0-5]):[0-5]\d)$/; // RFC 3339 has no hour 24; PostgreSQL takes offsets below 16 h; real ones reach 14 h

/** What is wrong with a text in the form of a day; undefined: nothing. */
const dayFault = (text: string): string | undefined => {
  const [year = 0, month = 0, day = 0] = text.slice(0, 10).split('-').map(Number);
  if (
    month < 1 ||
    month > 12 ||
    day < 1 ||
    (day > 28 && day > new Date(Date.UTC(year, month, 0)).getUTCDate())
  )
    return 'must be a day of the calendar'; // Date.parse accepts 30 February
  return year < 1900 || year > 2199 ? 'must lie in the years 1900 to 2199' : undefined;
};

/** What is wrong with a value as a moment; undefined: nothing. */
export const instantFault = (value: unknown): string | undefined => {
  const form = 'must be a moment with its offset, such as 2027-03-01T06:00:00+01:00, to the millisecond';
  if (typeof value !== 'string' || !INSTANT.test(value)) return form;
  return dayFault(value) ?? (Number.isFinite(Date.parse(value)) ? undefined : form);
};

export const isInstant = (value: unknown): boolean => instantFault(value) === undefined;

export const IsInstant = faultRule('isInstant', instantFault);

/** What is wrong with a value as a date; undefined: nothing. */
const dateFault = (value: unknown): string | undefined =>
  typeof value === 'string' && /^\d{4}-\d{2}-\d{2}$/.test(value)
    ? dayFault(value)
    : 'must be a date, YYYY-MM-DD';

export const isDate = (value: unknown): boolean => dateFault(value) === undefined;

export const IsDate = faultRule('isDate', dateFault);

/** Compares an end with its start, another field. If either is absent or invalid, its own rule reports that. */
const against =
  (
    name: string,
    is: (value: unknown) => boolean,
    fits: (end: string, start: string) => boolean,
    not: string,
  ) =>
  (start: string): PropertyDecorator => {
    const startOf = ({ object }: ValidationArguments): unknown => (object as Record<string, unknown>)[start];
    return ValidateBy({
      name,
      validator: {
        validate: (end: unknown, given) => {
          const from = given && startOf(given);
          return !is(end) || !is(from) || fits(end as string, from as string);
        },
        defaultMessage: (given) =>
          given ? `$property ${String(given.value)} ${not} ${start} ${String(startOf(given))}` : '',
      },
    });
  };

/** The last day of a range of days; both ends belong to it. */
export const IsNotBefore = against('isNotBefore', isDate, (end, start) => end >= start, 'lies before');

/** The end of a time span, which does not belong to it. */
export const IsAfter = against(
  'isAfter',
  isInstant,
  (end, start) => Date.parse(end) > Date.parse(start),
  'does not lie after',
);

const isText = (value: unknown): boolean =>
  typeof value === 'string' &&
  value.isWellFormed() &&
  !/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/.test(value);

/** Text that the database can hold: well-formed Unicode without control characters. */
export const IsText = rule('isText', isText, 'must be text without control characters');

/** Whether a text has visible characters: more than blanks and format characters such as zero-width ones. */
export const saysSomething = (text: string | null | undefined): boolean => /[^\s\p{Cf}]/u.test(text ?? '');

/** One line of visible text, for names. @param must  completes the message "must …", as in "name the revision" */
export const Names = (must: string): PropertyDecorator =>
  Matches(/^[^\r\n]*[^\s\p{Cf}][^\r\n]*$/u, { message: `$property must ${must}, in one line` });

const isObjects = (value: unknown): boolean => Array.isArray(value) && value.every((item) => isObject(item));

const isReading = (value: unknown): boolean =>
  value === 0 || (typeof value === 'number' && value >= SMALLEST_READING);

/** A reading of the machine: 0, or large enough to divide by. */
export const IsReading = rule('isReading', isReading, `must be 0 or at least ${SMALLEST_READING}`);

/** A list of objects only: a nested list would otherwise pass for its elements. */
export const IsObjects = rule('isObjects', isObjects, 'must be a list of objects');

const isUnique = (value: unknown): boolean => Array.isArray(value) && new Set(value).size === value.length;

/** A list without repeated values; class-validator's own rule compares every pair. */
export const IsUnique = rule('isUnique', isUnique, 'must not repeat a value');
