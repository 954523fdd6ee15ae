import { GraphQLModule } from '@nestjs/graphql';
import { MercuriusDriver, type MercuriusDriverConfig } from '@nestjs/mercurius';
import type { ExecutionResult, GraphQLFormattedError } from 'graphql';
import { Config } from '../config/config.js';
import { formatted, type Failure } from './graphql-errors.js';
import { graphqlLimits, KEPT_QUERIES, MAX_TOKENS } from './graphql-limits.js';
import { MOST_FAULTS } from './problem.js';
import { ChainageScalar, DateScalar, DecimalScalar, InstantScalar } from './scalars.js';

/** 200, as GraphQL over HTTP has it, unless the service itself failed. */
const statusOf = (errors: readonly GraphQLFormattedError[]): number =>
  errors.map(({ extensions }) => Number(extensions?.['status'])).find((status) => status >= 500) ?? 200;

export const GraphqlModule = GraphQLModule.forRootAsync<MercuriusDriverConfig>({
  driver: MercuriusDriver,
  inject: [Config],
  useFactory: (config: Config) => ({
    autoSchemaFile: true,
    sortSchema: true,
    fieldResolverEnhancers: ['interceptors'], // each field is let through by its own rule
    jit: 1,
    cache: KEPT_QUERIES,
    graphql: { parseOptions: { maxTokens: MAX_TOKENS } },
    allowBatchedQueries: false, // a batch would be weighed one by one
    hooks: graphqlLimits(config),
    path: '/graphql',
    subscription: false, // served by GraphqlSockets
    resolvers: { Chainage: ChainageScalar, Decimal: DecimalScalar, Instant: InstantScalar, Date: DateScalar },
    errorFormatter: (execution: ExecutionResult) => {
      const failures = ((execution.errors ?? []) as readonly Failure[]).slice(0, MOST_FAULTS);
      const errors = failures.flatMap(formatted);
      const whole = execution.data == null;
      return {
        statusCode: whole ? statusOf(errors) : 200,
        response: { data: execution.data ?? null, errors },
      } as never;
    },
  }),
});
