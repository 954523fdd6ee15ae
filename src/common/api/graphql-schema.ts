import { getNullableType, type GraphQLSchema, isInputObjectType, isObjectType } from 'graphql';
import { RULE } from '../auth/permit.js';

const ROOTS: Record<string, string> = {
  Query:
    'What can be read. A reading that fails is null, with its error at its path; the others are answered.',
  Mutation: 'What can be written. Each is carried out completely or refused, one after the other.',
  Subscription: 'What can be followed, by WebSocket.',
};

/**
 * Applies the rules that hold for every field. A field with its own access rule reads or writes by itself and may be refused,
 * absent or fail: it is nullable, so that its siblings are still answered. Plain columns stay as declared. An input with a default
 * is not required: a query that is compiled (from its second use on) would otherwise report it missing.
 */
export const finishSchema = (schema: GraphQLSchema): GraphQLSchema => {
  for (const type of Object.values(schema.getTypeMap())) {
    if (isInputObjectType(type))
      for (const field of Object.values(type.getFields()))
        if (field.defaultValue !== undefined) field.type = getNullableType(field.type);
    if (!isObjectType(type)) continue;
    type.description ??= ROOTS[type.name];
    for (const field of Object.values(type.getFields()))
      if (field.extensions[RULE]) field.type = getNullableType(field.type);
  }
  return schema;
};
