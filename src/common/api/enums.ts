import { registerEnumType } from '@nestjs/graphql';

/** Registers a fixed set with GraphQL: each of its values is described, or it does not compile. */
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
