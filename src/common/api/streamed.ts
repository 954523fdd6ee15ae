import { applyDecorators } from '@nestjs/common';
import { RouteConfig } from '@nestjs/platform-fastify';
import type { FastifyInstance } from 'fastify';
import type { IncomingMessage } from 'node:http';
import { hasStalled } from './body-timeout.js';
import { JSON_TYPE } from './content-types.js';
import { ProblemError } from './problem.js';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** The route reads its body itself as a stream: a form, or lines of JSON. */
    streamed?: boolean;
    /** It takes lines of JSON too. */
    lines?: boolean;
  }
}

export const NDJSON = 'application/x-ndjson';

/** The route reads its body itself, so the body need not fit into memory: multipart/form-data or, with lines, application/x-ndjson. */
export const Streamed = ({ lines = false } = {}): MethodDecorator =>
  applyDecorators(RouteConfig({ streamed: true, lines }));

const isNdjson = (contentType = ''): boolean => /^application\/x-ndjson\b/i.test(contentType);

/** Passes bodies unread to the routes that stream them; other routes refuse lines of JSON. */
export const handStreamsOn = (fastify: FastifyInstance): void => {
  fastify.addContentTypeParser(NDJSON, (_request, payload, done) => done(null, payload));
  fastify.addHook('onRequest', (request, _reply, done) => {
    const contentType = request.headers['content-type'];
    const isForm = /^multipart\/form-data\b/i.test(contentType ?? '');
    const { streamed, lines } = request.routeOptions.config ?? {};
    if (streamed === true) {
      const types = lines === true ? `multipart/form-data or ${NDJSON}.` : 'multipart/form-data only.';
      if (isForm || (lines === true && isNdjson(contentType))) done();
      else done(new ProblemError('unsupported_media_type', `This address accepts ${types}`));
    } else if (isNdjson(contentType))
      done(new ProblemError('unsupported_media_type', `This address accepts ${JSON_TYPE}, not ${NDJSON}.`));
    else done();
  });
};

/**
 * Discards the unread rest of a body: answering before its end would break the sender's connection. What exceeds the limit is
 * discarded while the answer is being sent: left unread, it would block the next request on the connection.
 */
export const readToEnd = async (body: IncomingMessage, limitBytes: number): Promise<void> => {
  if (hasStalled(body)) return;
  body.unpipe();
  let bytes = 0;
  try {
    for await (const piece of body.iterator({ destroyOnReturn: false })) {
      bytes += (piece as Buffer).length;
      if (bytes > limitBytes) break;
    }
    body.resume();
  } catch {
    // the sender has disconnected or stalled
  }
};
