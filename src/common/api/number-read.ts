import { Transform } from 'class-transformer';

/** Plain decimal text: no sign except a minus, no leading zeros, no exponent, no blanks. */
const PLAIN = /^(?!-0(\.0*)?$)-?(0|[1-9]\d*)(\.\d+)?$/;

/** Likewise, without decimals. */
const WHOLE = /^(0|-?[1-9]\d*)$/;

export const isPlainDecimal = (value: unknown): value is string =>
  typeof value === 'string' && PLAIN.test(value);

const readAs = (form: RegExp): PropertyDecorator => {
  const read = (value: unknown): unknown =>
    typeof value === 'string' && form.test(value) ? Number(value) : value;
  return Transform(({ value }: { value: unknown }) =>
    Array.isArray(value) ? value.map((each) => read(each)) : read(value),
  );
};

/** A number, or each of a list, may be given as text, as in an address; text of another form is left for the rules of its field. */
export const NumberRead = (): PropertyDecorator => readAs(PLAIN);

export const WholeNumberRead = (): PropertyDecorator => readAs(WHOLE);
