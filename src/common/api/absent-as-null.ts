/**
 * The input with null for each optional field that was not given: replacing a record keeps none of its earlier values.
 * (Prisma leaves undefined fields unchanged.)
 */
export const absentAsNull = <Input extends object, Key extends keyof Input>(
  input: Input,
  optional: readonly Key[],
): Omit<Input, Key> & Record<Key, Exclude<Input[Key], undefined> | null> =>
  ({ ...input, ...Object.fromEntries(optional.map((key) => [key, input[key] ?? null])) }) as never;
