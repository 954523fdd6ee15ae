import { GraphQLModule } from '@nestjs/graphql';
import { MercuriusDriver, type MercuriusDriverConfig } from '@nestjs/mercurius';
import type { FastifyReply } from 'fastify';
import type { ExecutionResult } from 'graphql';
import { Config } from '../config/config.js';
import { answerGraphqlFailure, failedAnswer } from './graphql-http.js';
import { finishSchema } from './graphql-schema.js';
import { graphqlLimits, KEPT_QUERIES, MAX_TOKENS } from './graphql-limits.js';
import { ChainageScalar, DateScalar, DecimalScalar, InstantScalar } from './scalars.js';

export const GraphqlModule = GraphQLModule.forRootAsync<MercuriusDriverConfig>({
  driver: MercuriusDriver,
  inject: [Config],
  useFactory: (config: Config) => ({
    autoSchemaFile: true,
    sortSchema: true,
    transformSchema: finishSchema,
    fieldResolverEnhancers: ['interceptors'], // access is checked per field
    jit: 1,
    cache: KEPT_QUERIES,
    graphql: { parseOptions: { maxTokens: MAX_TOKENS } },
    allowBatchedQueries: false, // the cost limit applies per operation, not per batch
    hooks: graphqlLimits(config),
    path: '/graphql',
    subscription: false, // served by GraphqlSockets
    resolvers: { Chainage: ChainageScalar, Decimal: DecimalScalar, Instant: InstantScalar, Date: DateScalar },
    errorHandler: (error, request, reply) => answerGraphqlFailure(error, request, reply) as never,
    errorFormatter: (execution: ExecutionResult, { reply }: { reply?: FastifyReply }) =>
      failedAnswer(execution, reply) as never,
  }),
});
