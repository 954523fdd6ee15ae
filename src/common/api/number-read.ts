import { Transform } from 'class-transformer';

/** Plain decimal text: no sign but a minus, no leading zeros, no exponent, no blanks. */
const PLAIN = /^(?!-0(\.0*)?$)-?(0|[1-9]\d*)(\.\d+)?$/;

/** A number may be written as text, as it has to be in an address; text of another form stays, and is refused by the rules of its field. */
export const NumberRead = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) =>
    typeof value === 'string' && PLAIN.test(value) ? Number(value) : value,
  );
