import { Injectable } from '@nestjs/common';
import { HttpAdapterHost } from '@nestjs/core';
import type { FastifyAdapter } from '@nestjs/platform-fastify';
import type { FastifyRequest } from 'fastify';
import { GraphQLError } from 'graphql';
import {
  type Context,
  GRAPHQL_TRANSPORT_WS_PROTOCOL,
  makeServer,
  MessageType,
  type Server,
} from 'graphql-ws';
import type { WebSocket } from 'ws';
import { Authenticator } from '../auth/authenticator.js';
import { Gate } from '../auth/gate.js';
import { refuseForeignPage } from '../auth/loopback.js';
import { nameOf } from '../auth/principal.js';
import { Config } from '../config/config.js';
import { Connections } from './connections.js';
import { type Failure, formatted } from './graphql-errors.js';
import { ProblemError, type ProblemCode } from './problem.js';
import { RateLimits } from './rate-limit.js';
import { goAway, linkOf } from './socket.js';
import { type Asked, readSubscription } from './subscription-document.js';
import { toProblemError } from './to-problem.js';

/** Context of a subscription field. */
export interface SocketContext {
  reply: { request: FastifyRequest };
  /** The credential of the connection. */
  authorization: string | undefined;
}

interface Connection {
  socket: WebSocket;
  request: FastifyRequest;
  authorization?: string;
  /** Set once authenticated. */
  caller?: string;
  /** Whether a ping is still unanswered. */
  isPinged: boolean;
}

type SocketState = Context<Record<string, unknown> | undefined, Connection>;

/** Close codes: 4401 and 4403 as in graphql-transport-ws; clients retry after 1013. */
const CLOSE: Partial<Record<ProblemCode, number>> = {
  unauthenticated: 4401,
  forbidden: 4403,
  too_many_requests: 4429,
  unavailable: 1013,
};

const INIT_MS = 3000;

const countOf = ({ subscriptions }: SocketState): number => Object.keys(subscriptions).length;

const isUnauthenticated = (error: unknown): boolean =>
  error instanceof ProblemError && error.code === 'unauthenticated';

const PING = JSON.stringify({ type: MessageType.Ping });

/** JavaScript in a page cannot see WebSocket pings; a ping message of the protocol shows it that the connection is alive. */
const keepAlive = (connection: Connection): void => {
  if (connection.caller === undefined) return;
  connection.isPinged = true;
  connection.socket.send(PING);
};

/** Subscriptions over WebSocket, by the protocol graphql-transport-ws. */
@Injectable()
export class GraphqlSockets {
  private readonly server: Server<Connection>;

  constructor(
    private readonly config: Config,
    private readonly host: HttpAdapterHost<FastifyAdapter>,
    private readonly gate: Gate,
    private readonly authenticator: Authenticator,
    private readonly limits: RateLimits,
    private readonly connections: Connections,
  ) {
    this.server = makeServer<Record<string, unknown> | undefined, Connection>({
      connectionInitWaitTimeout: INIT_MS,
      onConnect: (state) => this.prove(state),
      onSubscribe: (state, _id, payload) => this.subscribe(state, payload),
      onPing: ({ extra }) => this.count(extra),
      onPong: ({ extra }) => this.answered(extra),
      onNext: (_state, _id, _payload, _args, { errors, ...result }) =>
        errors ? { ...result, errors: errors.flatMap(formatted) } : undefined,
      onError: ({ extra }, _id, _payload, errors) => {
        const answered = errors.flatMap((error) => formatted(error as Failure));
        if (answered.some(({ extensions }) => extensions?.['code'] === 'internal'))
          extra.request.log.error({ err: errors[0]?.originalError }, 'failed');
        return answered;
      },
    });
  }

  readonly chooseProtocol = (offered: Set<string>): string | false =>
    offered.has(GRAPHQL_TRANSPORT_WS_PROTOCOL) && GRAPHQL_TRANSPORT_WS_PROTOCOL;

  /** Before the connection is made. @throws ProblemError forbidden, too_many_requests, unavailable */
  admit(request: FastifyRequest): void {
    refuseForeignPage(request.host, request.headers.origin, this.config.corsOrigins);
    this.connections.admit(request);
  }

  readonly open = (socket: WebSocket, request: FastifyRequest): void => {
    const connection: Connection = { socket, request, isPinged: false };
    const link = linkOf(socket, {
      maxPerMinute: this.config.rateLimitPerMinute,
      pingMs: this.config.sockets.pingS * 1000,
      check: () => {
        keepAlive(connection);
        void this.checkCredential(connection);
      },
      failed: (error) => {
        request.log.error({ err: error }, 'failed');
        goAway(socket, 1011, 'The service failed; see its log.');
      },
    });
    const closed = this.server.opened(link, connection);
    socket.once('close', (code, reason) => {
      Promise.resolve(closed(code, String(reason))).catch((error: unknown) =>
        request.log.error({ err: error }, 'failed'),
      );
    });
  };

  /** Authenticates the connection for all its messages, by the first message or else by the header of the upgrade. */
  private async prove(state: SocketState): Promise<boolean> {
    const { socket, request } = state.extra;
    try {
      const given = state.connectionParams?.['authorization'];
      const authorization =
        given === undefined ? request.headers.authorization : typeof given === 'string' ? given : '';
      const principal = await this.gate.prove(request, authorization);
      if (socket.readyState !== socket.OPEN) return false;
      const caller = nameOf(principal);
      socket.once(
        'close',
        this.connections.enter(caller, () => countOf(state)),
      );
      Object.assign(state.extra, { authorization, caller });
      request.principal = principal;
      return true;
    } catch (error) {
      const { code, message } = toProblemError(error);
      if (code === 'internal') request.log.error({ err: error }, 'failed');
      goAway(socket, CLOSE[code] ?? 1011, message);
      return false;
    }
  }

  private async subscribe(state: SocketState, asked: Asked) {
    const { request, authorization, caller = '' } = state.extra;
    try {
      await this.limits.count(request);
      this.connections.refuseMore(caller, () => countOf(state));
      const contextValue: SocketContext = { reply: { request }, authorization };
      return {
        ...readSubscription(this.config, this.host.httpAdapter.getInstance().graphql.schema, asked),
        contextValue,
      };
    } catch (error) {
      return error instanceof GraphQLError
        ? [error]
        : [new GraphQLError((error as Error).message, { originalError: error as Error })];
    }
  }

  /** The answer to a ping is expected and not counted; any other message is. */
  private async answered(connection: Connection): Promise<void> {
    if (!connection.isPinged) await this.count(connection);
    connection.isPinged = false;
  }

  /** Counted with all other requests of the caller; when the limit is exceeded, the next subscription or request is refused. */
  private async count({ request }: Connection): Promise<void> {
    await this.limits.count(request).catch(() => undefined);
  }

  /** A connection ends when its credential does. */
  private async checkCredential({ caller, authorization, socket }: Connection): Promise<void> {
    if (caller === undefined) return;
    try {
      await this.authenticator.principalOf(authorization);
    } catch (error) {
      if (isUnauthenticated(error)) goAway(socket, 4401, (error as Error).message);
    }
  }
}
