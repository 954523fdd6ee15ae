import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { GqlExecutionContext } from '@nestjs/graphql';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { GraphQLResolveInfo } from 'graphql';
import { lastValueFrom, type Observable, of } from 'rxjs';
import { ProblemError } from '../api/problem.js';
import { requestOf } from '../auth/caller.js';
import { Database } from '../database/database.js';
import { answerText, JsonRows } from '../database/json-rows.js';
import { scope } from '../database/scope.js';
import { fingerprintOf, keyOf } from './idempotency-key.js';
import { keepAnswer, type KeptAnswer, takeKey } from './kept-answers.js';

/** Headers stored beside status and body; an answer with no-store is not kept. */
const KEPT_HEADERS = ['etag', 'location', 'cache-control'];

const RETRY_AFTER_S = 1;

const isMutation = (context: ExecutionContext): boolean =>
  GqlExecutionContext.create(context).getInfo<GraphQLResolveInfo>().parentType.name === 'Mutation';

/**
 * Carries out a POST with an Idempotency-Key only once: one transaction holds its reads, its writes and its stored answer, all or
 * nothing. Sent again within a day, it gets the same answer.
 * Source: draft-ietf-httpapi-idempotency-key-header-07.
 */
@Injectable()
export class OnceInterceptor implements NestInterceptor {
  constructor(private readonly database: Database) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const request = requestOf(context);
    if (request.headers['idempotency-key'] === undefined) return next.handle();
    if (context.getType<'http' | 'graphql'>() === 'graphql') {
      if (isMutation(context))
        throw new ProblemError(
          'malformed',
          'GraphQL takes no Idempotency-Key: send the write to its POST route, or leave the header out.',
        );
      return next.handle();
    }
    if (request.method !== 'POST') return next.handle(); // PUT and DELETE can be repeated safely anyway
    const key = keyOf(request);
    const { config, url = '' } = request.routeOptions;
    // Streamed uploads are recognised by their content, and can be repeated safely.
    if (key === undefined || config?.streamed === true) return next.handle();
    const of_ = { actor: scope().actor, route: `POST ${url}`, key };
    return of(await this.once(of_, request, context.switchToHttp().getResponse<FastifyReply>(), next));
  }

  private async once(
    key: { actor: string; route: string; key: string },
    request: FastifyRequest,
    reply: FastifyReply,
    next: CallHandler,
  ): Promise<JsonRows<unknown>> {
    const fingerprint = await fingerprintOf(request);
    return this.database.held(async (send) => {
      const kept = await takeKey(send, scope().projectId, key);
      if (kept === 'in_progress') throw inProgress(reply);
      if (kept) return () => Promise.resolve(answeredAgain(kept, fingerprint, reply));
      const body = answerText(await lastValueFrom<unknown>(next.handle()));
      const headers = keptHeaders(reply);
      const { statusCode: status } = reply;
      const answer = {
        fingerprint,
        request: request.id,
        status,
        headers,
        body: isSecret(headers) ? null : body,
      };
      return async () => {
        await keepAnswer(send, key, answer);
        return new JsonRows(body);
      };
    });
  }
}

const keptHeaders = (reply: FastifyReply): Record<string, string> =>
  Object.fromEntries(
    KEPT_HEADERS.flatMap((name) => {
      const value = reply.getHeader(name);
      return value === undefined ? [] : [[name, String(value)]];
    }),
  );

const isSecret = (headers: Record<string, string>): boolean => headers['cache-control'] === 'no-store';

const inProgress = (reply: FastifyReply): ProblemError => {
  void reply.header('retry-after', String(RETRY_AFTER_S));
  return new ProblemError(
    'in_progress',
    'A request with this Idempotency-Key is still being carried out: send it again in a moment.',
  );
};

/** @throws ProblemError key_reused, or already_done when the answer was not stored */
const answeredAgain = (kept: KeptAnswer, fingerprint: string, reply: FastifyReply): JsonRows<unknown> => {
  const first = `the request ${kept.request} of ${kept.madeAt.toISOString()}`;
  if (kept.fingerprint !== fingerprint)
    throw new ProblemError(
      'key_reused',
      `This Idempotency-Key belongs to ${first}, which differs in address, If-Match, X-Reason or body: send another key with another request.`,
    );
  if (kept.body === null)
    throw new ProblemError(
      'already_done',
      `Carried out once, by ${first}. Its answer holds a secret that is shown once and was not kept: if it was lost, revoke what was made and make another.`,
    );
  void reply.status(kept.status).headers(kept.headers);
  return new JsonRows(kept.body);
};
