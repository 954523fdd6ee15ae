import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { GraphqlSockets } from '../api/graphql-sockets.js';
import { answerFailure } from '../api/problem.filter.js';
import { faulty, ProblemError } from '../api/problem.js';
import { takesMoment } from '../api/query.interceptor.js';
import { isUpgrade } from '../api/upgrades.js';
import { moment } from './caller.js';
import { passwordAsBearer, readsFeed } from './credentials.js';
import { Gate } from './gate.js';
import { IssuerSignIn } from './issuer-sign-in.js';
import { Sessions } from './sessions.js';

declare module 'fastify' {
  interface FastifyInstance {
    /** Whether browsers may sign in at the issuer. */
    offersIssuer: boolean;
  }
}

/** Addresses that tell nothing of any record. */
const OPEN = /^\/(v1\/(health|openapi\.json)|docs|assets|sign-in|sign-out)(\/|\?|-|$)/;

/** RFC 6750, section 3: what to prove oneself by; of the feed, a password too (RFC 7617). */
const CHALLENGE = 'Bearer realm="drivebook"';
const FEED_CHALLENGE = `${CHALLENGE}, Basic realm="drivebook", charset="UTF-8"`;

/** Takes the moment that is asked of out of the query, so that no route need name it. */
const takeMoment = (request: FastifyRequest): void => {
  const query = request.query as Record<string, unknown>;
  const { method, routeOptions } = request;
  if (!Object.hasOwn(query, 'asOf') || routeOptions.url?.startsWith('/v1/projects') !== true) return;
  const { asOf } = query;
  delete query['asOf'];
  if (!takesMoment(method, routeOptions.url)) {
    const detail = 'asOf is for reading only: the past cannot be written';
    throw faulty('invalid', [{ in: 'query', pointer: '/asOf', value: asOf, detail }]);
  }
  request.asOf = moment(asOf, 'query');
};

/** Every request proves who sends it before anything of it is read; the rule beside its route decides what it may. */
export const proveRequests = (app: NestFastifyApplication): void => {
  const fastify = app.getHttpAdapter().getInstance();
  const gate = app.get(Gate);
  const sessions = app.get(Sessions);
  const sockets = app.get(GraphqlSockets);
  fastify.decorate('offersIssuer', app.get(IssuerSignIn).isOffered);
  fastify.decorateRequest('principal', null);
  fastify.decorateRequest('asOf', null);
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    // What a browser is signed in by counts as if it had been sent; so it does for whoever reads the header later.
    request.headers.authorization ??= sessions.authorizationOf(request);
    const isFeed = readsFeed(request.method, request.url);
    if (isFeed && request.headers.authorization !== undefined)
      request.headers.authorization = passwordAsBearer(request.headers.authorization);
    const { authorization } = request.headers;
    try {
      if (OPEN.test(request.url)) await gate.pass(request, reply);
      // A page cannot send a header with it: what it proves itself by comes with the first message.
      else if (isUpgrade(request) && authorization === undefined) await gate.admit(request, reply);
      else request.principal = await gate.prove(request, authorization, reply);
      if (isUpgrade(request)) sockets.admit(request);
      return undefined;
    } catch (error) {
      if (error instanceof ProblemError && error.code === 'unauthenticated')
        void reply.header('www-authenticate', isFeed ? FEED_CHALLENGE : CHALLENGE);
      return answerFailure(error, request, reply); // answered here: as a failed query GraphQL would answer 200
    }
  });
  fastify.addHook('preValidation', (request, _reply, done) => {
    takeMoment(request);
    done();
  });
};
