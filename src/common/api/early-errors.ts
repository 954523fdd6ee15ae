import { ExecutionContextHost } from '@nestjs/core/helpers/execution-context-host.js';
import type { FastifyAdapter } from '@nestjs/platform-fastify';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { ProblemFilter } from './problem.filter.js';

/**
 * What fails before a handler is reached, as a body that cannot be read, is answered as a problem too. Nest brings its
 * own error handler, but only after Fastify has given its default one to the routes.
 */
export const answerEarlyErrors = (adapter: FastifyAdapter, filter: ProblemFilter): void => {
  adapter
    .getInstance()
    .setErrorHandler((error: unknown, request: FastifyRequest, reply: FastifyReply) =>
      filter.catch(error, new ExecutionContextHost([request, reply])),
    );
  // Set once: Fastify warns of a second.
  adapter.setErrorHandler = () => adapter.getInstance();
};
