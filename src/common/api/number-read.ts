import { Transform } from 'class-transformer';

/** Plain decimal text: no sign except a minus, no leading zeros, no exponent, no blanks. */
const PLAIN = /^(?!-0(\.0*)?$)-?(0|[1-9]\d*)(\.\d+)?$/;

/** Likewise, without decimals. */
const WHOLE = /^(0|-?[1-9]\d*)$/;

const readAs = (form: RegExp): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) =>
    typeof value === 'string' && form.test(value) ? Number(value) : value,
  );

/** A number may be given as text, as in an address; text of another form is left for the rules of its field to refuse. */
export const NumberRead = (): PropertyDecorator => readAs(PLAIN);

export const WholeNumberRead = (): PropertyDecorator => readAs(WHOLE);
