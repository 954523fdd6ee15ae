import { getNullableType, type GraphQLSchema, isInputObjectType, isObjectType } from 'graphql';
import { RULE } from '../auth/permit.js';

const ROOTS: Record<string, string> = {
  Query:
    'What can be read. A reading that fails is null, with its error at its path; the others are answered.',
  Mutation: 'What can be written. Each is carried out completely or refused, one after the other.',
  Subscription: 'What can be followed, by WebSocket.',
};

/**
 * What holds for every field, by being there. A field that is let through by its own rule reads or writes something of
 * its own: it may be refused, absent or fail, and then it is null and leaves what stands beside it. Columns are as declared.
 * What an input has a default for is not required: a query that is compiled, as by its second use, would miss it otherwise.
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
