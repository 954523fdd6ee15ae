import { type BeforeApplicationShutdown, Injectable, StreamableFile } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { preferred } from '../../../common/api/acceptable.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { Connections } from '../../../common/api/connections.js';
import { EVENT_STREAM, EventStream, type ServerEvent } from '../../../common/api/event-stream.js';
import { faulty, ProblemError } from '../../../common/api/problem.js';
import { toProblemError } from '../../../common/api/to-problem.js';
import { nameOf } from '../../../common/auth/principal.js';
import { Config } from '../../../common/config/config.js';
import { scope } from '../../../common/database/scope.js';
import { type Admission, Followers } from '../live/followers.service.js';
import type { LiveStream, News } from '../live/live-stream.js';
import type { Change, ChangeCut, ChangeFilter } from './history.models.js';
import { HistoryService } from './history.service.js';

/** Changes read at a time. */
const AT_A_TIME = 100;

/** A reader shows that it is alive as often at least, whatever WS_PING_S says: proxies close what is silent for longer. [ms] */
const MAX_BEAT_MS = 15_000;

/** How long before a reading that the database could not answer is tried again. [ms] */
const RETRY_MS = 2000;

const PERMISSION = 'history.read';

/** The changes of a project while they are made, for whoever follows them by subscription or as an event stream. */
@Injectable()
export class ChangeStreams implements BeforeApplicationShutdown {
  private readonly open = new Set<EventStream>();
  private isClosing = false;

  constructor(
    private readonly config: Config,
    private readonly history: HistoryService,
    private readonly followers: Followers,
    private readonly connections: Connections,
  ) {}

  /** Whether a request would rather have events than a page. */
  isWanted({ headers: { accept } }: FastifyRequest): boolean {
    return preferred(accept, [JSON_TYPE, EVENT_STREAM]) === EVENT_STREAM;
  }

  /** The changes after a number, or from now on, one by one. */
  async follow(
    authorization: string | undefined,
    since: number | undefined,
    cut: ChangeCut,
  ): Promise<LiveStream<Change>> {
    const place = await this.placeOf(since, cut);
    return this.followers.follow({ authorization, permission: PERMISSION }, () => this.read(place, cut));
  }

  /**
   * The answer to a request for events: those after the last one that the reader had, or after `after`, or from now on.
   * @throws ProblemError invalid, conflict, too_many_requests, unavailable
   */
  async events(
    request: FastifyRequest,
    reply: FastifyReply,
    { first, after, drive, kind }: ChangeFilter,
  ): Promise<StreamableFile | undefined> {
    const cut = { drive, kind };
    const place = await this.placeOf(lastEventOf(request) ?? after, cut, first);
    void reply.headers({
      'content-type': EVENT_STREAM,
      'cache-control': 'no-store',
      'x-accel-buffering': 'no', // proxies of the nginx kind hold answers back otherwise
    });
    if (request.method === 'HEAD') return undefined;
    if (this.isClosing) throw new ProblemError('unavailable', 'The service is stopping. Try again.');
    const stream = this.streamOf(request, place, cut);
    try {
      this.enter(request, stream);
    } catch (error) {
      stream.destroy();
      throw error;
    }
    return new StreamableFile(stream, { type: EVENT_STREAM });
  }

  /** A reader that has gone comes back to another instance, and goes on where it was. */
  beforeApplicationShutdown(): void {
    this.isClosing = true;
    for (const stream of this.open) stream.end();
  }

  private streamOf({ headers, log }: FastifyRequest, place: Place, cut: ChangeCut): EventStream {
    const admission: Admission = { authorization: headers.authorization, permission: PERMISSION };
    const holds = this.followers.holding(admission);
    const events: LiveStream<ServerEvent> = this.followers.follow(admission, async () => {
      try {
        const { values, more } = await this.read(place, cut);
        const reported = values.map((change): ServerEvent => ({ id: change.number, data: change }));
        // past what it did not ask for: whoever comes back need not have that looked through again
        const isPast = place.passed > 0 && values.at(-1)?.number !== place.after;
        return { values: isPast ? [...reported, { id: place.after }] : reported, more };
      } catch (error) {
        if (!isUnavailable(error)) throw error;
        setTimeout(() => events.readOn(), RETRY_MS).unref(); // the reader need not see that the database was away
        return { values: [] };
      }
    });
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

  /** Counted with the WebSockets of the address and of the caller, and as one subscription of theirs. */
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

  /** @throws ProblemError invalid for what makes no sense of a stream; as HistoryService.after */
  private async placeOf(since: number | undefined, cut: ChangeCut, first?: number): Promise<Place> {
    if (first != null)
      throw faulty('invalid', [
        {
          in: 'query',
          pointer: '/first',
          value: first,
          detail: 'first is a page size: an event stream has no pages',
        },
      ]);
    const { asOf } = scope();
    if (asOf)
      throw faulty('invalid', [
        {
          in: 'query',
          pointer: '/asOf',
          detail: 'asOf is for the past: changes are followed as they are made',
        },
      ]);
    const { newest } = await this.history.after(since ?? 0, cut, 0);
    return { after: since ?? newest, passed: 0 };
  }

  private async read(place: Place, cut: ChangeCut): Promise<Required<News<Change>>> {
    const { changes, newest } = await this.history.after(place.after, cut, AT_A_TIME);
    const more = changes.length >= AT_A_TIME;
    const after = more ? (changes.at(-1)?.number ?? newest) : newest;
    place.passed = after - place.after;
    place.after = after;
    return { values: changes, more };
  }
}

/** How far the history has been read, and how many changes the last reading went past. */
interface Place {
  after: number;
  passed: number;
}

const isUnavailable = (error: unknown): boolean => toProblemError(error).code === 'unavailable';

const NUMBER = /^(0|[1-9]\d{0,14})$/;

/** What a reader that comes back had last (WHATWG HTML, section 9.2.4); undefined: it has had nothing. @throws ProblemError invalid */
const lastEventOf = ({ headers }: FastifyRequest): number | undefined => {
  const value = headers['last-event-id'];
  if (value === undefined || value === '') return undefined;
  if (typeof value === 'string' && NUMBER.test(value)) return Number(value);
  const detail = 'Last-Event-ID must be the number of a change';
  throw faulty('invalid', [{ in: 'header', pointer: '/Last-Event-ID', value, detail }]);
};
