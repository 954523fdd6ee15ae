import { type ExecutionArgs, getOperationAST, type GraphQLSchema, parse, validate } from 'graphql';
import type { Config } from '../config/config.js';
import {
  MAX_TOKENS,
  operationsOf,
  refuseCostly,
  refuseUndeclared,
  refuseUnreadable,
} from './graphql-limits.js';
import { ProblemError } from './problem.js';

/** The content of a `subscribe` message. */
export interface Asked {
  query: string;
  operationName?: string | null;
  variables?: Record<string, unknown> | null;
}

/**
 * Reads a subscription under the same limits as every other query, in the same order: length, tokens while parsing, schema, then
 * depth, aliases and cost.
 * @throws ProblemError, or the GraphQLErrors found
 */
export const readSubscription = (
  limits: Pick<Config, 'graphqlMaxCost' | 'graphqlMaxAliases'>,
  schema: GraphQLSchema,
  { query, operationName, variables }: Asked,
): ExecutionArgs => {
  refuseUnreadable(query);
  const document = parse(query, { maxTokens: MAX_TOKENS });
  const errors = validate(schema, document);
  if (errors.length > 0) throw Object.assign(new Error('not valid'), { errors });
  const operations = operationsOf(document);
  refuseUndeclared(operations, variables);
  refuseCostly(limits, schema, document, operations, variables);
  const operation = getOperationAST(document, operationName);
  if (operation?.operation !== 'subscription')
    throw new ProblemError(
      'malformed',
      'A WebSocket serves subscriptions only: send queries and mutations by POST.',
    );
  return { schema, document, operationName, variableValues: variables };
};
