import type { ValidationError } from 'class-validator';
import { type ProblemCode, PROBLEMS, problemType } from './problems.js';
import { type Class, propertiesOf } from './properties.js';

export type { ProblemCode } from './problems.js';

/** One fault of a request: where, what stood there, and the rule it breaks. */
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
  /** After how long it is worth trying again. [s] */
  retryAfterS?: number;
}

/** Most faults that one answer reports; their number is in its detail. */
export const MOST_FAULTS = 100;
const MAX_POINTER_LENGTH = 500;
const MAX_DETAIL_LENGTH = 1000;
const MAX_VALUE_LENGTH = 100;

const cut = (text: string, length: number): string =>
  text.length > length ? `${text.slice(0, length)}…` : text;

/** A value fit to be shown back: long and nested ones are cut. */
export const shown = (value: unknown): unknown => {
  if (typeof value === 'string') return cut(value, MAX_VALUE_LENGTH);
  if (Array.isArray(value)) return `an array of ${value.length}`;
  if (typeof value === 'object' && value !== null) return 'an object';
  return value;
};

/** A failure that the caller can understand and mend. What it reports is bounded, however much was wrong. */
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

/** As in "see errors, the first 100 of 3000 faults"; nothing when one answer reports them all. */
export const firstOf = (count: number): string =>
  count > MOST_FAULTS ? `, the first ${MOST_FAULTS} of ${count} faults` : '';

/**
 * Faults of a request under one heading: the sentence counts them, or is the only one's.
 * @param isPartial  whether there are more than these: they were no longer looked for
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

/** The rule of class-validator that a property breaks which its class does not have. */
const UNKNOWN = 'whitelistValidation';

const allowedBeside = ({ target }: ValidationError): string => {
  const names = target ? propertiesOf(target.constructor as Class) : [];
  return names.length === 0 ? '' : `; allowed are ${names.join(', ')}`;
};

/** What was sent as a member, before a number was read from text. */
const memberOf = (sent: unknown, name: string, read: unknown): unknown =>
  typeof sent === 'object' && sent !== null && Object.hasOwn(sent, name)
    ? (sent as Record<string, unknown>)[name]
    : read;

/**
 * The faults that class-validator found, each with its pointer.
 * @param sent  the object as it was before it was read
 */
export const faultsOf = (errors: ValidationError[], where: Fault['in'], sent: unknown, base = ''): Fault[] =>
  errors.flatMap((error) => {
    const pointer = `${base}/${escaped(error.property)}`;
    const own = Object.entries(error.constraints ?? {})
      .slice(0, 1)
      .map(([rule, detail]) => (rule === UNKNOWN ? detail + allowedBeside(error) : detail));
    const member = memberOf(sent, error.property, error.value);
    const value = shown(member);
    return [
      ...own.map((detail) => ({ in: where, pointer, value, detail })),
      ...faultsOf(error.children ?? [], where, member, pointer),
    ];
  });
