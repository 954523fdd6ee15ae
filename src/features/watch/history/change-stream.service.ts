import { Injectable, type StreamableFile } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { ServerEvent } from '../../../common/api/event-stream.js';
import { faulty } from '../../../common/api/problem.js';
import { scope } from '../../../common/database/scope.js';
import { EventStreams } from '../live/event-streams.service.js';
import { Followers } from '../live/followers.service.js';
import type { LiveStream, News } from '../live/live-stream.js';
import type { Change, ChangeCut, ChangeFilter } from './history.models.js';
import { HistoryService } from './history.service.js';

/** Changes read at a time. */
const AT_A_TIME = 100;

const PERMISSION = 'history.read';

/** The changes of a project as they are made, for subscriptions and event streams. */
@Injectable()
export class ChangeStreams {
  constructor(
    private readonly history: HistoryService,
    private readonly followers: Followers,
    private readonly streams: EventStreams,
  ) {}

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
   * The answer to a request for events: those after the last one that the reader received, or after `after`, or from now on.
   * @throws ProblemError invalid, conflict, too_many_requests, unavailable
   */
  async events(
    request: FastifyRequest,
    reply: FastifyReply,
    { first, after, drive, kind }: ChangeFilter,
  ): Promise<StreamableFile | undefined> {
    const cut = { drive, kind };
    const place = await this.placeOf(lastEventOf(request) ?? after, cut, first);
    return this.streams.answer(request, reply, PERMISSION, async () => {
      const { values, more } = await this.read(place, cut);
      const reported = values.map((change): ServerEvent => ({ id: change.number, data: change }));
      // beyond changes filtered out, so that a returning reader does not make us search them again
      const isPast = place.passed > 0 && values.at(-1)?.number !== place.after;
      return { values: isPast ? [...reported, { id: place.after }] : reported, more };
    });
  }

  /** @throws ProblemError invalid for parameters that do not suit a stream; as HistoryService.after */
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

/** How far the history has been read, and how many changes the last reading skipped. */
interface Place {
  after: number;
  passed: number;
}

const NUMBER = /^(0|[1-9]\d{0,14})$/;

/** The last event received by a returning reader (WHATWG HTML, section 9.2.4); undefined: none. @throws ProblemError invalid */
const lastEventOf = ({ headers }: FastifyRequest): number | undefined => {
  const value = headers['last-event-id'];
  if (value === undefined || value === '') return undefined;
  if (typeof value === 'string' && NUMBER.test(value)) return Number(value);
  const detail = 'Last-Event-ID must be the number of a change';
  throw faulty('invalid', [{ in: 'header', pointer: '/Last-Event-ID', value, detail }]);
};
