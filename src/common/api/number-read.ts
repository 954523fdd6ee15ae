import { Transform } from 'class-transformer';

/** Plain decimal text: no sign but a minus, no leading zeros, no exponent, no blanks. */
const PLAIN = /^(?!-0(\.0*)?$)-?(0|[1-9]\d*)(\.\d+)?$/;

/** Likewise, without decimals. */
const WHOLE = /^(0|-?[1-9]\d*)$/;

const readAs = (form: RegExp): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) =>
    typeof value === 'string' && form.test(value) ? Number(value) : value,
  );

/** A number may be written as text, as it has to be in an address; text of another form stays, and is refused by the rules of its field. */
export const NumberRead = (): PropertyDecorator => readAs(PLAIN);

export const WholeNumberRead = (): PropertyDecorator => readAs(WHOLE);
