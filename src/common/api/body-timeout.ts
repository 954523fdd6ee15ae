import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { IncomingMessage } from 'node:http';
import { ProblemError } from './problem.js';

/** Limit on receiving a body that is read as a whole. [ms] */
const WHOLE_BODY_MS = 300_000;

/** Time for the answer to be sent before the connection is closed. [ms] */
const FAREWELL_MS = 2000;

/** Checks per limit. */
const LOOKS_PER_LIMIT = 4;

const stalled = new WeakSet<IncomingMessage>();

/** Whether the sender has stopped in the middle of the body. */
export const hasStalled = (body: IncomingMessage): boolean => stalled.has(body);

const hasBody = ({ headers }: IncomingMessage): boolean =>
  headers['transfer-encoding'] !== undefined || Number(headers['content-length'] ?? 0) > 0;

/**
 * Watches a body as it arrives. The sender counts as slow only while everything received has been read: data left in the
 * buffer is waiting for the service.
 */
const watch = (request: FastifyRequest, reply: FastifyReply, idleMs: number): void => {
  const { raw } = request;
  const { socket } = raw;
  const isStreamed = request.routeOptions.config?.streamed === true;
  const began = performance.now();
  let movedAt = began;
  let bytes = socket.bytesRead;
  const end = (): void => clearInterval(timer);
  const timer = setInterval(() => {
    if (raw.complete || socket.destroyed) return end();
    const now = performance.now();
    if (socket.bytesRead !== bytes || raw.readableLength > 0) {
      bytes = socket.bytesRead;
      movedAt = now;
    }
    const isIdle = now - movedAt >= idleMs;
    if (!isIdle && (isStreamed || now - began < WHOLE_BODY_MS)) return undefined;
    end();
    const seconds = Math.round((isIdle ? idleMs : WHOLE_BODY_MS) / 1000);
    giveUp(
      request,
      reply,
      isIdle ? `The body stalled for ${seconds} s.` : `The body did not arrive within ${seconds} s.`,
    );
    return undefined;
  }, idleMs / LOOKS_PER_LIMIT);
  timer.unref();
  raw.on('error', () => undefined); // an answer may be sent without reading the body: then nothing else handles the error
  raw.once('close', end);
};

/** Fails the read, so that its consumer cleans up and answers; then closes the connection, which cannot be reused. */
const giveUp = ({ raw }: FastifyRequest, reply: FastifyReply, why: string): void => {
  const { socket } = raw;
  stalled.add(raw);
  if (!reply.raw.headersSent) void reply.header('connection', 'close');
  raw.unpipe();
  raw.emit('error', new ProblemError('timeout', why));
  setTimeout(() => socket.destroy(), FAREWELL_MS).unref();
};

/** Gives up a body that stalls, on every route. Where a body is read as a stream, one that keeps moving may be as slow and as long as it likes. */
export const limitBodyTime = (fastify: FastifyInstance, idleMs: number): void => {
  fastify.addHook('onRequest', (request, reply, done) => {
    if (hasBody(request.raw)) watch(request, reply, idleMs);
    done();
  });
};
