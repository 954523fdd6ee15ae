import { type ArgumentsHost, Catch, type ExceptionFilter, Logger } from '@nestjs/common';
import type { FastifyReply } from 'fastify';
import type { ProblemError } from './problem.js';
import { toProblemError } from './to-problem.js';

/** Every failure leaves by here: REST answers RFC 9457, GraphQL gets the same problem in `extensions`. */
@Catch()
export class ProblemFilter implements ExceptionFilter {
  private readonly logger = new Logger('Problem');

  catch(error: unknown, host: ArgumentsHost): unknown {
    const failure = toProblemError(error);
    if (failure.code === 'internal') this.logger.error(error instanceof Error ? error.stack : error);
    if (host.getType<'http' | 'graphql'>() === 'graphql') return failure;
    return answerProblem(host.switchToHttp().getResponse<FastifyReply>(), failure);
  }
}

export const answerProblem = (reply: FastifyReply, { status, problem }: ProblemError): FastifyReply =>
  reply.status(status).header('content-type', 'application/problem+json').send(JSON.stringify(problem));
