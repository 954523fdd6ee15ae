import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { IncomingMessage } from 'node:http';
import { ProblemError } from './problem.js';

/** A body that is read whole comes within this time, or is refused. [ms] */
const WHOLE_BODY_MS = 300_000;

/** How long an answer may take to leave before the connection is cut. [ms] */
const FAREWELL_MS = 2000;

/** How often it looks. */
const LOOKS_PER_LIMIT = 4;

const stalled = new WeakSet<IncomingMessage>();

/** Whether the sender has stopped in the middle of the body: there is nothing more to wait for. */
export const hasStalled = (body: IncomingMessage): boolean => stalled.has(body);

const hasBody = ({ headers }: IncomingMessage): boolean =>
  headers['transfer-encoding'] !== undefined || Number(headers['content-length'] ?? 0) > 0;

/**
 * Watches a body as it comes. It is the sender who is slow only while nothing that came is left unread: what lies in the
 * buffer waits for the service.
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
  raw.on('error', () => undefined); // an answer may have been sent without reading: then nobody else hears it
  raw.once('close', end);
};

/** Ends the reading with a failure, so that whoever reads cleans up and answers; then the connection, which cannot be used again. */
const giveUp = ({ raw }: FastifyRequest, reply: FastifyReply, why: string): void => {
  const { socket } = raw;
  stalled.add(raw);
  if (!reply.raw.headersSent) void reply.header('connection', 'close');
  raw.unpipe();
  raw.emit('error', new ProblemError('timeout', why));
  setTimeout(() => socket.destroy(), FAREWELL_MS).unref();
};

/** A body that stalls is given up, on every route; one that moves is not, however slow and long, where it is read as it comes. */
export const limitBodyTime = (fastify: FastifyInstance, idleMs: number): void => {
  fastify.addHook('onRequest', (request, reply, done) => {
    if (hasBody(request.raw)) watch(request, reply, idleMs);
    done();
  });
};
