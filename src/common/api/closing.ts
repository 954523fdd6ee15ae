import type { Socket } from 'node:net';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { isUpgrade } from './upgrades.js';
import { ProblemError } from './problem.js';

/** Time for requests in progress to finish once the service is closing. [ms] */
const GRACE_MS = 8000;

/** Time for connections without a request in progress: keep-alive, a partial header, a WebSocket that does not close. [ms] */
const IDLE_GRACE_MS = 1000;

const SWEEP_MS = 50;

/**
 * Limits how long closing the service takes, even if a client keeps a connection open. New requests are answered 503; those
 * in progress get their time; then every connection is destroyed.
 */
export const boundClosing = (fastify: FastifyInstance): void => {
  const sockets = new Set<Socket>();
  const underWay = new Set<FastifyRequest>();
  let closing = false;
  fastify.server.on('connection', (socket: Socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
  });
  fastify.addHook('onRequest', (request, reply, done) => {
    if (!isUpgrade(request)) underWay.add(request);
    if (!closing) return done();
    void reply.header('connection', 'close');
    done(new ProblemError('unavailable', 'The service is stopping. Try again.'));
  });
  fastify.addHook('onResponse', (request, _reply, done) => {
    underWay.delete(request);
    done();
  });
  fastify.addHook('preClose', (done) => {
    closing = true;
    const since = Date.now();
    const sweep = setInterval(() => {
      fastify.server.closeIdleConnections();
      if (Date.now() - since < (underWay.size > 0 ? GRACE_MS : IDLE_GRACE_MS)) return;
      for (const socket of sockets) socket.destroy();
    }, SWEEP_MS);
    fastify.server.once('close', () => clearInterval(sweep));
    sweep.unref();
    done();
  });
};
