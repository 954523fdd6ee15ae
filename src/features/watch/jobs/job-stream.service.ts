import { type BeforeApplicationShutdown, Injectable, StreamableFile } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { preferred } from '../../../common/api/acceptable.js';
import { Connections } from '../../../common/api/connections.js';
import { JSON_TYPE } from '../../../common/api/content-types.js';
import { EVENT_STREAM, EventStream, type ServerEvent } from '../../../common/api/event-stream.js';
import { ProblemError } from '../../../common/api/problem.js';
import { toProblemError } from '../../../common/api/to-problem.js';
import { whole } from '../../../common/api/whole.js';
import { nameOf } from '../../../common/auth/principal.js';
import { Config } from '../../../common/config/config.js';
import { type Admission, Followers } from '../live/followers.service.js';
import type { LiveStream } from '../live/live-stream.js';
import { Job } from './job.models.js';
import { JobsService } from './jobs.service.js';

/** How often a job is looked at for a follower: it is no part of the record, whose changes are announced. [ms] */
const LOOK_MS = 1000;

const MAX_BEAT_MS = 15_000;

const hasEnded = ({ state }: Job): boolean => state === 'done' || state === 'failed';

/** A job as it goes on, for whoever follows it as an event stream. */
@Injectable()
export class JobStreams implements BeforeApplicationShutdown {
  private readonly open = new Set<EventStream>();
  private isClosing = false;

  constructor(
    private readonly config: Config,
    private readonly jobs: JobsService,
    private readonly followers: Followers,
    private readonly connections: Connections,
  ) {}

  /** Whether a request would rather have events than the job as it stands. */
  isWanted({ headers: { accept } }: FastifyRequest): boolean {
    return preferred(accept, [JSON_TYPE, EVENT_STREAM]) === EVENT_STREAM;
  }

  /** The job each time that something of it has changed, until it has ended. @throws ProblemError not_found, too_many_requests, unavailable */
  async events(
    request: FastifyRequest,
    reply: FastifyReply,
    number: number,
  ): Promise<StreamableFile | undefined> {
    await this.jobs.get(number);
    void reply.headers({
      'content-type': EVENT_STREAM,
      'cache-control': 'no-store',
      'x-accel-buffering': 'no',
    });
    if (request.method === 'HEAD') return undefined;
    if (this.isClosing) throw new ProblemError('unavailable', 'The service is stopping. Try again.');
    const stream = this.streamOf(request, number);
    const caller = request.principal ? nameOf(request.principal) : '';
    try {
      this.connections.admit(request, stream);
      const leave = this.connections.enter(caller, () => 1);
      this.open.add(stream);
      stream.once('close', () => {
        leave();
        this.open.delete(stream);
      });
      this.connections.refuseMore(caller, () => 1);
    } catch (error) {
      stream.destroy();
      throw error;
    }
    return new StreamableFile(stream, { type: EVENT_STREAM });
  }

  beforeApplicationShutdown(): void {
    this.isClosing = true;
    for (const stream of this.open) stream.end();
  }

  private streamOf({ headers, log }: FastifyRequest, number: number): EventStream {
    const admission: Admission = { authorization: headers.authorization, permission: 'jobs.read' };
    const holds = this.followers.holding(admission);
    let last = '';
    let isOver = false;
    const events: LiveStream<ServerEvent> = this.followers.follow(admission, async () => {
      if (isOver) {
        await events.return();
        return { values: [] };
      }
      const job = whole(await this.jobs.get(number), Job) as Job;
      isOver = hasEnded(job);
      if (isOver) events.readOn();
      else setTimeout(() => events.readOn(), LOOK_MS).unref();
      const text = JSON.stringify(job);
      if (text === last) return { values: [] };
      last = text;
      return { values: [{ data: job }], more: isOver };
    });
    return new EventStream(events, {
      beatMs: Math.min(MAX_BEAT_MS, this.config.sockets.pingS * 1000),
      beat: () => holds(),
      failed: (error) => {
        const failure = toProblemError(error);
        if (failure.code === 'internal') log.error({ err: error }, 'failed');
        return { event: 'problem', data: failure.problem };
      },
    });
  }
}
