/**
 * The input with null for each of its optional fields that was not given: a record that is replaced keeps nothing of
 * what stood. (Prisma leaves alone what is undefined.)
 */
export const absentAsNull = <Input extends object, Key extends keyof Input>(
  input: Input,
  optional: readonly Key[],
): Omit<Input, Key> & Record<Key, Exclude<Input[Key], undefined> | null> =>
  ({ ...input, ...Object.fromEntries(optional.map((key) => [key, input[key] ?? null])) }) as never;
