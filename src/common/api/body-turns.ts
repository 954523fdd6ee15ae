import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';

/**
 * Reads a body one chunk per turn of the event loop. From a fast sender Node takes up to 32 chunks at once (2 MB), and
 * processing them all, such as parsing a form, would block other requests for that much longer.
 */
export const onePieceATurn = (body: Readable): void => {
  const push = body.push.bind(body);
  const read = body._read.bind(body);
  body.push = (...piece) => {
    push(...piece);
    return false; // no more until the stream asks for it
  };
  body._read = (size) => void setImmediate(read, size);
};

/** Runs for every request before its body is read. */
export const readInTurns = (fastify: FastifyInstance): void => {
  fastify.addHook('onRequest', (request, _reply, done) => {
    onePieceATurn(request.raw);
    done();
  });
};
