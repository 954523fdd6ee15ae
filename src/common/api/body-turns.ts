import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';

/**
 * Reads a body piece by piece, one in a turn of the event loop. Node takes as many as 32 at once (2 MB) from a sender that is fast enough, and
 * what is done with each, as taking a form apart, would hold up everybody else by as many times.
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

/** For every request, before anything of its body is read. */
export const readInTurns = (fastify: FastifyInstance): void => {
  fastify.addHook('onRequest', (request, _reply, done) => {
    onePieceATurn(request.raw);
    done();
  });
};
