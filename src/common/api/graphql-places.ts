import {
  type DocumentNode,
  type FieldNode,
  type GraphQLSchema,
  TypeInfo,
  valueFromASTUntyped,
  visit,
  visitWithTypeInfo,
} from 'graphql';
import { costOf, isHeavyField } from '../auth/heavy.js';
import type { Variables } from './graphql-cost.js';

/** Length assumed for the drives that an operation reads, not known in advance: half of a long one. [m] */
const ASSUMED_LENGTH_M = 10_000;

/**
 * Number of places that an operation takes in the share of heavy readings. Its readings run one after another on one
 * connection, so it takes as many as the heaviest needs; fields skipped by @skip count too.
 */
export const databaseCost = (schema: GraphQLSchema, document: DocumentNode, variables: Variables): number => {
  const types = new TypeInfo(schema);
  let isAsOf = false;
  let most = 0;
  const valueOf = (node: FieldNode, name: string): unknown => {
    const given = node.arguments?.find((argument) => argument.name.value === name)?.value;
    return given && valueFromASTUntyped(given, variables);
  };
  visit(
    document,
    visitWithTypeInfo(types, {
      Field: (node) => {
        const field = types.getFieldDef();
        isAsOf ||= valueOf(node, 'asOf') != null;
        if (!field || !isHeavyField(field)) return;
        const lengthM = valueOf(node, 'lengthM') ?? undefined;
        most = Math.max(
          most,
          costOf({ isHeavy: true, isAsOf: false, driveLengthM: ASSUMED_LENGTH_M, lengthM }),
        );
      },
    }),
  );
  return most + (isAsOf ? 1 : 0);
};
