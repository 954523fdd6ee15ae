import { GraphQLError, type GraphQLFormattedError } from 'graphql';
import { toProblemError } from './to-problem.js';

/** An error of a query, as Mercurius and graphql-js have it. */
export interface Failure {
  message: string;
  toJSON?(): GraphQLFormattedError;
  originalError?: Error & { errors?: Failure[] };
}

/**
 * What is wrong with the query is reported in GraphQL's own words, one error each; what a resolver threw, as the
 * problem that REST answers.
 */
export const formatted = (error: Failure): GraphQLFormattedError[] => {
  const { originalError, message } = error;
  const { locations, path } = error.toJSON?.() ?? {};
  if (originalError?.errors) return originalError.errors.flatMap(formatted);
  if (!originalError || originalError instanceof GraphQLError) return [{ message, locations, path }];
  const { problem } = toProblemError(originalError);
  return [{ message: problem.detail, locations, path, extensions: { ...problem } }];
};
