import type { ValidationError } from 'class-validator';
import { type ProblemCode, PROBLEMS, problemType } from './problems.js';
import { type Class, propertiesOf } from './properties.js';

export type { ProblemCode } from './problems.js';

/** One fault of a request: its place, the value found, and the rule it breaks. */
export interface Fault {
  in: 'body' | 'path' | 'query' | 'header';
  /** JSON Pointer (RFC 6901) into the body, or to the parameter's name */
  pointer: string;
  value?: unknown;
  detail: string;
}

/** The answer to a failed request: RFC 9457, with one entry in `errors` for each fault. */
export interface Problem {
  type: string;
  title: string;
  status: number;
  detail: string;
  errors?: Fault[];
  /** Delay before a retry is worthwhile. [s] */
  retryAfterS?: number;
}

/** Most faults that one answer lists; the total is in its detail. */
export const MOST_FAULTS = 100;
const MAX_POINTER_LENGTH = 500;
const MAX_DETAIL_LENGTH = 1000;
const MAX_VALUE_LENGTH = 100;

const cut = (text: string, length: number): string =>
  text.length > length ? `${text.slice(0, length)}…` : text;

/** A value shortened for an error message: long and nested ones are cut. */
export const shown = (value: unknown): unknown => {
  if (typeof value === 'string') return cut(value, MAX_VALUE_LENGTH);
  if (Array.isArray(value)) return `an array of ${value.length}`;
  if (typeof value === 'object' && value !== null) return 'an object';
  return value;
};

/** A failure that the caller can understand and correct. Its report is bounded, however many faults there are. */
export class ProblemError extends Error {
  readonly faults: Fault[];

  constructor(
    readonly code: ProblemCode,
    detail: string,
    faults: Fault[] = [],
    readonly retryAfterS?: number,
  ) {
    super(cut(detail, MAX_DETAIL_LENGTH));
    this.faults = faults.slice(0, MOST_FAULTS).map((fault) => ({
      in: fault.in,
      pointer: cut(fault.pointer, MAX_POINTER_LENGTH),
      ...(fault.value === undefined ? {} : { value: shown(fault.value) }),
      detail: cut(fault.detail, MAX_DETAIL_LENGTH),
    }));
  }

  get status(): number {
    return PROBLEMS[this.code].status;
  }

  get problem(): Problem {
    const { status, title } = PROBLEMS[this.code];
    const errors = this.faults.length > 0 ? { errors: this.faults } : {};
    const { retryAfterS } = this;
    const retry = retryAfterS === undefined ? {} : { retryAfterS };
    return {
      type: problemType(this.code),
      title,
      status,
      detail: this.message,
      ...errors,
      ...retry,
    };
  }
}

/** As in "see errors, the first 100 of 3000 faults"; empty when one answer lists them all. */
export const firstOf = (count: number): string =>
  count > MOST_FAULTS ? `, the first ${MOST_FAULTS} of ${count} faults` : '';

/**
 * Faults of a request under one heading: the sentence gives their number, or is that of the only one.
 * @param isPartial  whether there may be more faults: the search stopped
 */
export const faulty = (code: ProblemCode, faults: Fault[], isPartial = false): ProblemError => {
  const [first] = faults;
  const most = faults.length > MOST_FAULTS ? `, the first ${MOST_FAULTS}` : '';
  const detail =
    faults.length === 1 && first
      ? first.detail
      : `${isPartial ? 'more than ' : ''}${faults.length} faults; see errors${most}`;
  return new ProblemError(code, detail, faults);
};

export const notFound = (what: string): ProblemError => new ProblemError('not_found', `There is no ${what}.`);

export const escaped = (property: string): string => property.replaceAll('~', '~0').replaceAll('/', '~1');

/** The class-validator rule broken by a property that its class does not have. */
const UNKNOWN = 'whitelistValidation';

const allowedNames = ({ target }: ValidationError): string => {
  const names = target ? [...propertiesOf(target.constructor as Class)] : [];
  return names.length === 0 ? '' : `; allowed are ${names.join(', ')}`;
};

/** The value of a member as sent, before a number was read from text. */
const memberOf = (sent: unknown, name: string, read: unknown): unknown =>
  typeof sent === 'object' && sent !== null && Object.hasOwn(sent, name)
    ? (sent as Record<string, unknown>)[name]
    : read;

/** What a rule of a list asks of each of its values, in the context of the rule. */
export interface EachHolds {
  holds: (value: unknown) => boolean;
  /** as in "must be a chainage" */
  must: string;
}

/**
 * The faults of the values of a list, by the rule that some of them break; no more of them than one answer lists.
 * @param sent  the list as it was sent
 */
const faultsOfEach = (
  { property, value }: ValidationError,
  { holds, must }: EachHolds,
  sent: unknown,
): { step: string; value: unknown; detail: string }[] => {
  const wrong = [...(value as unknown[]).entries()].filter(([, each]) => !holds(each));
  return wrong.slice(0, MOST_FAULTS).map(([index, each]) => {
    const member = shown(memberOf(sent, String(index), each));
    const detail = `${property}: value ${index + 1}, ${JSON.stringify(member)}, ${must}`;
    return { step: `/${index}`, value: member, detail };
  });
};

/**
 * The faults found by class-validator, each with its pointer.
 * @param sent  the object as it was sent
 */
export const faultsOf = (errors: ValidationError[], where: Fault['in'], sent: unknown, base = ''): Fault[] =>
  errors.flatMap((error) => {
    const pointer = `${base}/${escaped(error.property)}`;
    const member = memberOf(sent, error.property, error.value);
    const own = Object.entries(error.constraints ?? {})
      .slice(0, 1)
      .flatMap(([rule, words]) => {
        const ofEach = (error.contexts as Record<string, EachHolds> | undefined)?.[rule];
        if (ofEach) return faultsOfEach(error, ofEach, member);
        const detail = rule === UNKNOWN ? words + allowedNames(error) : words;
        return [{ step: '', value: shown(member), detail }];
      });
    return [
      ...own.map(({ step, ...fault }) => ({ in: where, pointer: pointer + step, ...fault })),
      ...faultsOf(error.children ?? [], where, member, pointer),
    ];
  });
