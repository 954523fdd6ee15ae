import fastifyWebsocket from '@fastify/websocket';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyRequest } from 'fastify';
import { GraphqlSockets } from './graphql-sockets.js';
import { goAway } from './socket.js';

const PATH = '/graphql';

/** Largest message: enough for a query of the largest size with its variables. [bytes] */
const MAX_MESSAGE = 256 * 1024;

/** Whether a request opens a connection for subscriptions. An upgrade at any other address is an ordinary request. */
export const isUpgrade = ({ ws, method, routeOptions }: FastifyRequest): boolean =>
  ws && method === 'GET' && routeOptions.url === PATH;

/** Allows `/graphql` to be upgraded to a WebSocket. Call it before any route is registered. */
export const acceptUpgrades = async (app: NestFastifyApplication): Promise<void> => {
  const fastify = app.getHttpAdapter().getInstance();
  const sockets = app.get(GraphqlSockets);
  fastify.addHook('onRoute', (route) => {
    if (route.url === PATH && route.method === 'GET') route.wsHandler = sockets.open;
  });
  await app.register(fastifyWebsocket, {
    options: { maxPayload: MAX_MESSAGE, autoPong: false, handleProtocols: sockets.chooseProtocol },
    errorHandler: (error, socket, request) => {
      request.log.warn({ err: error }, 'connection failed');
      socket.terminate();
    },
    preClose(done) {
      for (const client of this.websocketServer.clients) goAway(client, 1001, 'The service stops.');
      this.websocketServer.close();
      done();
    },
  });
};
