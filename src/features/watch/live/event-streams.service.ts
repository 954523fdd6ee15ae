import { type BeforeApplicationShutdown, Injectable, StreamableFile } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { acceptOf, preferred } from '../../../common/api/acceptable.js';
import { Connections } from '../../../common/api/connections.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { EVENT_STREAM, EventStream, type ServerEvent } from '../../../common/api/event-stream.js';
import { ProblemError } from '../../../common/api/problem.js';
import { toProblemError } from '../../../common/api/to-problem.js';
import type { Permission } from '../../../common/auth/permissions.js';
import { nameOf } from '../../../common/auth/principal.js';
import { Config } from '../../../common/config/config.js';
import { type Admission, Followers } from './followers.service.js';
import type { LiveStream, News } from './live-stream.js';

/** Maximum heartbeat interval, whatever WS_PING_S says: proxies close connections that are silent for longer. [ms] */
const MAX_BEAT_MS = 15_000;

/** Delay before retrying a reading that the database could not answer. [ms] */
const RETRY_MS = 2000;

const isUnavailable = (error: unknown): boolean => toProblemError(error).code === 'unavailable';

/** Whether a request prefers events to the current state. */
export const wantsEvents = (request: FastifyRequest): boolean =>
  preferred(acceptOf(request), [JSON_TYPE, EVENT_STREAM]) === EVENT_STREAM;

/** Open event streams. Each counts like a WebSocket of its address and caller, with one subscription. */
@Injectable()
export class EventStreams implements BeforeApplicationShutdown {
  private readonly open = new Set<EventStream>();
  private isClosing = false;

  constructor(
    private readonly config: Config,
    private readonly followers: Followers,
    private readonly connections: Connections,
  ) {}

  /**
   * The answer to a request for events.
   * @param read  news since its last call
   * @throws ProblemError too_many_requests, unavailable
   */
  answer(
    request: FastifyRequest,
    reply: FastifyReply,
    permission: Permission,
    read: (events: LiveStream<ServerEvent>) => Promise<News<ServerEvent>>,
  ): StreamableFile | undefined {
    void reply.headers({
      'content-type': EVENT_STREAM,
      'cache-control': 'no-store',
      'x-accel-buffering': 'no', // otherwise nginx and similar proxies buffer answers
    });
    if (request.method === 'HEAD') return undefined;
    if (this.isClosing) throw new ProblemError('unavailable', 'The service is stopping. Try again.');
    const admission: Admission = { authorization: request.headers.authorization, permission };
    const events: LiveStream<ServerEvent> = this.followers.follow(admission, async () => {
      try {
        return await read(events);
      } catch (error) {
        if (!isUnavailable(error)) throw error;
        setTimeout(() => events.readOn(), RETRY_MS).unref(); // hides a short interruption of the database from the reader
        return { values: [] };
      }
    });
    const stream = this.streamOf(request, events, this.followers.holding(admission));
    try {
      this.enter(request, stream);
    } catch (error) {
      stream.destroy();
      throw error;
    }
    return new StreamableFile(stream, { type: EVENT_STREAM });
  }

  /** A disconnected reader returns to another instance, and continues from its last event. */
  beforeApplicationShutdown(): void {
    this.isClosing = true;
    for (const stream of this.open) stream.end();
  }

  private streamOf(
    { log }: FastifyRequest,
    events: LiveStream<ServerEvent>,
    holds: () => Promise<void>,
  ): EventStream {
    return new EventStream(events, {
      beatMs: Math.min(MAX_BEAT_MS, this.config.sockets.pingS * 1000),
      beat: () =>
        holds().catch((error: unknown) => {
          if (!isUnavailable(error)) throw error;
        }),
      failed: (error) => {
        const failure = toProblemError(error);
        if (failure.code === 'internal') log.error({ err: error }, 'failed');
        return { event: 'problem', data: failure.problem };
      },
    });
  }

  private enter(request: FastifyRequest, stream: EventStream): void {
    const caller = request.principal ? nameOf(request.principal) : '';
    this.connections.admit(request, stream);
    const leave = this.connections.enter(caller, () => 1);
    this.open.add(stream);
    stream.once('close', () => {
      leave();
      this.open.delete(stream);
    });
    this.connections.refuseMore(caller, () => 1);
  }
}
