import fastifyCompress from '@fastify/compress';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyReply, FastifyRequest, onSendHookHandler, RouteOptions } from 'fastify';
import { encodedTag, tagHeld } from './if-match.js';
import { inPieces, PIECE } from './in-pieces.js';
import { addTrailers } from './lists-out/trailer.js';

/** In the order of preference where Accept-Encoding has none. */
export const ENCODINGS = ['br', 'gzip'] as const;

/** What is shorter is sent as it is: a packet holds it either way. [bytes] */
export const COMPRESSED_FROM = 1024;

const VARY = ['accept', 'accept-encoding', 'authorization', 'cookie'];

/**
 * Whose an answer is, unless its route says so itself: the caller's alone, who asks again whether it still holds. Failures too:
 * without it, a cache may keep a 404 (RFC 9110, section 15.1).
 */
export const markPrivate = (reply: FastifyReply): void => {
  if (!reply.hasHeader('cache-control')) void reply.header('cache-control', 'private, no-cache');
  const given = reply.getHeader('vary');
  void reply.header('vary', [...VARY, ...(given === undefined ? [] : [given])].join(', '));
};

/** A compressed answer is another representation, and so has another strong tag (RFC 9110, section 8.8.3.3). */
const markEncoded = ({ method, headers }: FastifyRequest, reply: FastifyReply): void => {
  if (method !== 'GET' && method !== 'HEAD') return; // the tag is of what was written, not of this answer
  const tag = reply.getHeader('etag');
  if (typeof tag !== 'string') return;
  const encoding = reply.getHeader('content-encoding');
  if (typeof encoding === 'string') void reply.header('etag', encodedTag(tag, encoding));
  if (reply.statusCode === 304) void reply.header('etag', tagHeld(headers['if-none-match'] ?? '', tag));
};

const mark: onSendHookHandler = (request, reply, _payload, done) => {
  markEncoded(request, reply);
  done();
};

/** The hooks of a route on what it sends, as they run. Fastify lets the body of HEAD go first, and nothing would be known of its encoding. */
const inOrder = ({ method, onSend = [] }: RouteOptions): onSendHookHandler[] => {
  const hooks = [onSend].flat() as onSendHookHandler[];
  return method === 'HEAD' ? [...hooks.slice(1), mark, ...hooks.slice(0, 1)] : [...hooks, mark, addTrailers];
};

/** To turn a long answer into bytes at once, and write them, would hold up everybody else. */
const divide: onSendHookHandler = ({ method }, _reply, payload, done) => {
  const isLong = typeof payload === 'string' && payload.length > PIECE && method !== 'HEAD';
  done(null, isLong ? inPieces(payload) : payload);
};

/** Compresses answers, divides long ones, and says whose they are. To be called before any route is made. */
export const encodeAnswers = async (app: NestFastifyApplication): Promise<void> => {
  await app.register(fastifyCompress, {
    encodings: [...ENCODINGS],
    threshold: COMPRESSED_FROM,
    globalDecompression: false, // bodies are taken uncompressed
  });
  app
    .getHttpAdapter()
    .getInstance()
    .addHook('onSend', divide)
    .addHook('onRoute', (route) => {
      route.onSend = inOrder(route);
    });
};
