import { GraphQLModule } from '@nestjs/graphql';
import { MercuriusDriver, type MercuriusDriverConfig } from '@nestjs/mercurius';
import type { ExecutionResult, GraphQLFormattedError } from 'graphql';
import { ChainageScalar, DateScalar, DecimalScalar, InstantScalar } from './scalars.js';
import { toProblemError } from './to-problem.js';

interface Told {
  toJSON(): GraphQLFormattedError;
  originalError?: unknown;
}

/** What the query asked for wrongly is told by GraphQL itself; what a resolver threw, as the problem that REST tells. */
const formatted = (error: Told): GraphQLFormattedError => {
  const { originalError } = error;
  if (!originalError) return error.toJSON();
  const { problem, message } = toProblemError(originalError);
  const { locations, path } = error.toJSON();
  return { message, locations, path, extensions: { ...problem } };
};

const anyServerFault = (errors: readonly GraphQLFormattedError[]): boolean =>
  errors.some(({ extensions }) => Number(extensions?.['status']) >= 500);

export const GraphqlModule = GraphQLModule.forRoot<MercuriusDriverConfig>({
  driver: MercuriusDriver,
  autoSchemaFile: true,
  sortSchema: true,
  jit: 1,
  queryDepth: 12,
  path: '/graphql',
  resolvers: { Chainage: ChainageScalar, Decimal: DecimalScalar, Instant: InstantScalar, Date: DateScalar },
  errorFormatter: (execution: ExecutionResult) => {
    const errors = ((execution.errors ?? []) as readonly Told[]).map(formatted);
    const whole = execution.data == null;
    return {
      statusCode: whole && anyServerFault(errors) ? 500 : 200,
      response: { data: execution.data ?? null, errors },
    } as never;
  },
});
