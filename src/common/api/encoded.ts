import fastifyCompress from '@fastify/compress';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyReply, FastifyRequest, onSendHookHandler, RouteOptions } from 'fastify';
import { encodedTag, tagAtCaller } from './if-match.js';
import { inPieces, PIECE } from './in-pieces.js';
import { addTrailers } from './lists-out/trailer.js';

/** In order of preference where Accept-Encoding has none. */
export const ENCODINGS = ['br', 'gzip'] as const;

/** Shorter bodies are sent uncompressed: they fit in one packet either way. [bytes] */
export const COMPRESSED_FROM = 1024;

const VARY = ['accept', 'accept-encoding', 'authorization', 'cookie'];

/**
 * Default cache policy unless the route sets its own: only the caller's cache may keep an answer, and must revalidate it.
 * Failures included: without it, a cache may keep a 404 (RFC 9110, section 15.1).
 */
export const markPrivate = (reply: FastifyReply): void => {
  if (!reply.hasHeader('cache-control')) void reply.header('cache-control', 'private, no-cache');
  const given = reply.getHeader('vary');
  void reply.header('vary', [...VARY, ...(given === undefined ? [] : [given])].join(', '));
};

/** A compressed answer is a different representation and needs a different strong tag (RFC 9110, section 8.8.3.3). */
const markEncoded = ({ method, headers }: FastifyRequest, reply: FastifyReply): void => {
  if (method !== 'GET' && method !== 'HEAD') return; // the tag of a write is that of the stored record, not of this body
  const tag = reply.getHeader('etag');
  if (typeof tag !== 'string') return;
  const encoding = reply.getHeader('content-encoding');
  if (typeof encoding === 'string') void reply.header('etag', encodedTag(tag, encoding));
  if (reply.statusCode === 304) void reply.header('etag', tagAtCaller(headers['if-none-match'] ?? '', tag));
};

const mark: onSendHookHandler = (request, reply, _payload, done) => {
  markEncoded(request, reply);
  done();
};

/** The hooks of a route on its payload, as they run. For HEAD, Fastify drops the body first, so its encoding would be unknown. */
const inOrder = ({ method, onSend = [] }: RouteOptions): onSendHookHandler[] => {
  const hooks = [onSend].flat() as onSendHookHandler[];
  return method === 'HEAD' ? [...hooks.slice(1), mark, ...hooks.slice(0, 1)] : [...hooks, mark, addTrailers];
};

/** Converting and writing a long answer in one go would block other requests. */
const divide: onSendHookHandler = ({ method }, _reply, payload, done) => {
  const isLong = typeof payload === 'string' && payload.length > PIECE && method !== 'HEAD';
  done(null, isLong ? inPieces(payload) : payload);
};

/** Compresses answers, splits long ones into pieces and sets their cache policy. Call it before any route is registered. */
export const encodeAnswers = async (app: NestFastifyApplication): Promise<void> => {
  await app.register(fastifyCompress, {
    encodings: [...ENCODINGS],
    threshold: COMPRESSED_FROM,
    globalDecompression: false, // request bodies must be uncompressed
  });
  app
    .getHttpAdapter()
    .getInstance()
    .addHook('onSend', divide)
    .addHook('onRoute', (route) => {
      route.onSend = inOrder(route);
    });
};
