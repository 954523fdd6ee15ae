import { Transform } from 'class-transformer';

/** A bare + in an address arrives as a blank. */
export const withPlus = (value: unknown): unknown =>
  typeof value === 'string' ? value.replace(' ', '+') : value;

export const PlusKept = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) => withPlus(value));
