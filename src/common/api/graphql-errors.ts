import { GraphQLError, type GraphQLFormattedError } from 'graphql';
import { type Fault, type Problem, ProblemError } from './problem.js';
import { toProblemError } from './to-problem.js';

/** An error of a query, as Mercurius and graphql-js have it. */
export interface Failure {
  message: string;
  toJSON?(): GraphQLFormattedError;
  originalError?: Error & { errors?: Failure[] };
}

/** Every fault of a field is in its arguments, whether REST has it in the path, the query or the body. */
const inArguments = (fault: Fault): object => (fault.in === 'header' ? fault : { ...fault, in: 'argument' });

const extensionsOf = ({ code, problem }: ProblemError): { code: string } & Omit<Problem, 'errors'> => ({
  code,
  ...problem,
  ...(problem.errors && { errors: problem.errors.map(inArguments) }),
});

/**
 * Errors in the query itself are reported in GraphQL's own words, one entry each; an error thrown by a resolver is reported
 * as the problem that REST would answer.
 */
export const formatted = (error: Failure): GraphQLFormattedError[] => {
  const { originalError, message } = error;
  const { locations, path } = error.toJSON?.() ?? {};
  if (originalError?.errors) return originalError.errors.flatMap(formatted);
  const failure =
    !originalError || originalError instanceof GraphQLError
      ? new ProblemError('malformed', message)
      : toProblemError(originalError);
  return [{ message: failure.message, locations, path, extensions: extensionsOf(failure) }];
};
