import { Transform } from 'class-transformer';

/** A number in an address arrives as text; text that is no number stays, and is told. */
export const NumberRead = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) =>
    typeof value === 'string' && value.trim() !== '' && Number.isFinite(Number(value))
      ? Number(value)
      : value,
  );
