import 'reflect-metadata';
import type { LogLevel as NestLogLevel } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';
import { AppModule } from './app.module.js';
import { limitBodyTime } from './common/api/body-timeout.js';
import { readInTurns } from './common/api/body-turns.js';
import { honourAccept } from './common/api/acceptable.js';
import { boundClosing } from './common/api/closing.js';
import { readGraphqlRequests } from './common/api/graphql-http.js';
import { requestId, setGuardRails } from './common/api/guard-rails.js';
import { InputPipe } from './common/api/input.pipe.js';
import { readJsonBodies } from './common/api/json-body.js';
import { readMultipartBodies } from './common/api/multipart.js';
import { serveOpenApi } from './common/api/openapi.js';
import { ProblemError } from './common/api/problem.js';
import { answerFailure, ProblemFilter } from './common/api/problem.filter.js';
import { notRouted, refuseUnparsed, refuseUnreached, refuseUnrouted } from './common/api/refusals.js';
import { Routes } from './common/api/routes.js';
import { handStreamsOn } from './common/api/streamed.js';
import { proveRequests } from './common/auth/requests.js';
import { answerText } from './common/database/json-rows.js';
import type { Config, LogLevel } from './common/config/config.js';

const BODY_LIMIT = 1024 * 1024;

/** Subjects of up to 255 characters occur in addresses, some with two UTF-16 units per character; longer ones are reported by their field. */
const MAX_PARAM_LENGTH = 1024;

/**
 * Limits of a connection, whatever it is used for. Bodies have separate limits (`body-timeout.ts`); this one ends those that
 * trickle forever: 512 MB in two hours are 75 kB/s.
 */
const CONNECTION_LIMITS = {
  http: { headersTimeout: 20_000, connectionsCheckingInterval: 5_000, requireHostHeader: false }, // `refuseEverywhere` answers with the usual problem document
  requestTimeout: 2 * 3_600_000,
  keepAliveTimeout: 72_000,
  connectionTimeout: 300_000, // without traffic either way; longer than any statement may take
};

/** Nest logs each route and module at level `log`, which is only of use for debugging. */
const NEST_LEVELS: Record<LogLevel, NestLogLevel[]> = {
  silent: [],
  fatal: ['fatal'],
  error: ['fatal', 'error'],
  warn: ['fatal', 'error', 'warn'],
  info: ['fatal', 'error', 'warn'],
  debug: ['fatal', 'error', 'warn', 'log', 'debug'],
  trace: ['fatal', 'error', 'warn', 'log', 'debug', 'verbose'],
};

/** Failures before a route is reached, such as while reading the body, are reported like all others. */
class Adapter extends FastifyAdapter {
  tellProblems(routes: Routes): void {
    this.getInstance().setErrorHandler((error, request, reply) =>
      // A path that leads out of /docs is answered as not found rather than forbidden.
      isOutside(error) ? notRouted(routes)(request, reply) : answerFailure(error, request, reply),
    );
  }

  /** Nest would set its own handler here, in another format and after the routes are registered. */
  override setErrorHandler(): ReturnType<FastifyAdapter['setErrorHandler']> {
    return this.getInstance();
  }

  /** Nest's own handler does not report the methods that an address allows. */
  override setNotFoundHandler(): ReturnType<FastifyAdapter['setNotFoundHandler']> {
    return this.getInstance();
  }
}

/** Whether a served path leads out of its folder (@fastify/send). */
const isOutside = (error: unknown): boolean =>
  !(error instanceof ProblemError) && (error as { statusCode?: unknown }).statusCode === 403;

/** The application as it is served and tested; not yet listening. `config.databaseUrl` names a migrated database. */
export const createApp = async (config: Config): Promise<NestFastifyApplication> => {
  const adapter = new Adapter({
    ...CONNECTION_LIMITS,
    bodyLimit: BODY_LIMIT,
    return503OnClosing: false, // `boundClosing` answers with the usual problem document
    trustProxy: config.trustProxy ?? false,
    routerOptions: { maxParamLength: MAX_PARAM_LENGTH },
    clientErrorHandler: refuseUnparsed,
    frameworkErrors: refuseUnrouted,
    genReqId: requestId,
    logger: { level: config.logLevel, stream: process.stderr }, // method and address of each request, no header, no body
  });
  const app = await NestFactory.create<NestFastifyApplication>(AppModule.with(config), adapter, {
    bodyParser: false,
    logger: NEST_LEVELS[config.logLevel],
  });
  const routes = new Routes();
  routes.attachTo(adapter.getInstance());
  adapter.tellProblems(routes);
  adapter.getInstance().setNotFoundHandler(notRouted(routes));
  boundClosing(adapter.getInstance());
  await setGuardRails(app, config, routes);
  proveRequests(app);
  refuseUnreached(adapter.getInstance(), routes);
  honourAccept(adapter.getInstance());
  readGraphqlRequests(adapter.getInstance());
  adapter.getInstance().setReplySerializer(answerText);
  readInTurns(adapter.getInstance());
  limitBodyTime(adapter.getInstance(), config.bodyIdleTimeoutMs);
  readJsonBodies(adapter.getInstance());
  handStreamsOn(adapter.getInstance());
  readMultipartBodies(adapter.getInstance());
  app.useGlobalPipes(new InputPipe());
  app.useGlobalFilters(new ProblemFilter());
  serveOpenApi(app);
  return app;
};
