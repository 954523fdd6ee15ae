import { Transform } from 'class-transformer';

/** A bare + in an address arrives as a blank. */
export const PlusKept = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) => (typeof value === 'string' ? value.replace(' ', '+') : value));
