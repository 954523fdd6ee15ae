import { registerEnumType } from '@nestjs/graphql';

/** Registers an enum with GraphQL; the compiler demands a description of each value. */
export const registerEnum = <Value extends string>(
  of: Record<Value, string>,
  { values, ...type }: { name: string; description: string; values: Record<NoInfer<Value>, string> },
): void => {
  const described = Object.entries<string>(values).map(([value, description]) => [value, { description }]);
  registerEnumType(of, {
    ...type,
    valuesMap: Object.fromEntries(described) as Record<Value, { description: string }>,
  });
};
