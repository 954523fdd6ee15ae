import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { dropDescription } from './description.js';
import type { ProblemError } from './problem.js';
import { answerPage } from '../html/page.js';
import { problemPage, wantsPage } from '../html/problem-page.js';
import { toProblemError } from './to-problem.js';

export const PROBLEM_TYPE = 'application/problem+json';

/** Handles every failure: REST answers RFC 9457, GraphQL gets the same problem in `extensions`. */
@Catch()
export class ProblemFilter implements ExceptionFilter {
  catch(error: unknown, host: ArgumentsHost): unknown {
    if (host.getType<'http' | 'graphql'>() !== 'graphql') {
      const http = host.switchToHttp();
      return answerFailure(error, http.getRequest<FastifyRequest>(), http.getResponse<FastifyReply>());
    }
    const context = host.getArgByIndex<{ reply?: FastifyReply } | undefined>(2);
    const failure = known(error, context?.reply?.request);
    if (failure.retryAfterS !== undefined)
      void context?.reply?.header?.('retry-after', String(failure.retryAfterS));
    return failure;
  }
}

/** The failure as reported to the caller; internal ones are logged under the request's id. */
const known = (error: unknown, request?: FastifyRequest): ProblemError => {
  const failure = toProblemError(error);
  if (failure.code === 'internal') request?.log.error({ err: error }, 'failed');
  else if (failure.status === 409 && failure !== error) request?.log.info({ err: error }, 'refused');
  return failure;
};

export const answerFailure = (error: unknown, request: FastifyRequest, reply: FastifyReply): FastifyReply => {
  const failure = known(error, request);
  const { status, problem } = failure;
  dropDescription(reply);
  if (problem.retryAfterS !== undefined) void reply.header('retry-after', String(problem.retryAfterS));
  if (wantsPage(request)) return reply.status(status).send(answerPage(reply, problemPage(failure, request)));
  return reply.status(status).header('content-type', PROBLEM_TYPE).send(JSON.stringify(problem));
};
