import { GraphQLModule } from '@nestjs/graphql';
import { MercuriusDriver, type MercuriusDriverConfig } from '@nestjs/mercurius';
import { type ExecutionResult, GraphQLError, type GraphQLFormattedError } from 'graphql';
import { Authenticator } from '../auth/authenticator.js';
import { Config } from '../config/config.js';
import { graphqlLimits, KEPT_QUERIES, MAX_TOKENS } from './graphql-limits.js';
import { ChainageScalar, DateScalar, DecimalScalar, InstantScalar } from './scalars.js';
import { toProblemError } from './to-problem.js';

interface Told {
  message: string;
  toJSON?(): GraphQLFormattedError;
  originalError?: Error & { errors?: Told[] };
}

/**
 * What the query asked for wrongly is told in GraphQL's own words, one error each; what a resolver threw, as the
 * problem that REST tells.
 */
const formatted = (error: Told): GraphQLFormattedError[] => {
  const { originalError, message } = error;
  const { locations, path } = error.toJSON?.() ?? {};
  if (originalError?.errors) return originalError.errors.flatMap(formatted);
  if (!originalError || originalError instanceof GraphQLError) return [{ message, locations, path }];
  const { problem } = toProblemError(originalError);
  return [{ message: problem.detail, locations, path, extensions: { ...problem } }];
};

interface ConnectionInit {
  payload?: { authorization?: string } | null;
}

/**
 * `connection_init` may carry `authorization`, as the header of a request would. A refusal is kept for the first
 * subscription to tell: the connection has no words for it.
 */
const firstMessage =
  (authenticator: Authenticator) =>
  async ({ payload }: ConnectionInit): Promise<object> => {
    if (payload?.authorization === undefined) return {};
    try {
      return { principal: await authenticator.principalOf({ host: 'localhost', ...payload }) };
    } catch (refusal) {
      return { refusal };
    }
  };

/** 200, as GraphQL over HTTP has it, unless the service itself failed. */
const statusOf = (errors: readonly GraphQLFormattedError[]): number =>
  errors.map(({ extensions }) => Number(extensions?.['status'])).find((status) => status >= 500) ?? 200;

export const GraphqlModule = GraphQLModule.forRootAsync<MercuriusDriverConfig>({
  driver: MercuriusDriver,
  inject: [Config, Authenticator],
  useFactory: (config: Config, authenticator: Authenticator) => ({
    autoSchemaFile: true,
    sortSchema: true,
    fieldResolverEnhancers: ['interceptors'], // each field is let through by its own rule
    jit: 1,
    cache: KEPT_QUERIES,
    graphql: { parseOptions: { maxTokens: MAX_TOKENS } },
    queryDepth: 16, // the introspection query of graphql-js has 15
    allowBatchedQueries: false, // a batch would be weighed one by one
    hooks: graphqlLimits(config),
    path: '/graphql',
    subscription: { onConnect: firstMessage(authenticator) },
    resolvers: { Chainage: ChainageScalar, Decimal: DecimalScalar, Instant: InstantScalar, Date: DateScalar },
    errorFormatter: (execution: ExecutionResult) => {
      const errors = ((execution.errors ?? []) as readonly Told[]).flatMap(formatted);
      const whole = execution.data == null;
      return {
        statusCode: whole ? statusOf(errors) : 200,
        response: { data: execution.data ?? null, errors },
      } as never;
    },
  }),
});
