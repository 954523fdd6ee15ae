import { Injectable, type StreamableFile } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { whole } from '../../../common/api/whole.js';
import { EventStreams } from '../live/event-streams.service.js';
import { Job } from './job.models.js';
import { JobsService } from './jobs.service.js';

/** Polling interval for a follower of a job: jobs are not part of the record, whose changes are announced. [ms] */
const LOOK_MS = 1000;

const hasEnded = ({ state }: Job): boolean => state === 'done' || state === 'failed';

/** The progress of a job as an event stream. */
@Injectable()
export class JobStreams {
  constructor(
    private readonly jobs: JobsService,
    private readonly streams: EventStreams,
  ) {}

  /** The job each time it changes, until it has ended. @throws ProblemError not_found, too_many_requests, unavailable */
  async events(
    request: FastifyRequest,
    reply: FastifyReply,
    number: number,
  ): Promise<StreamableFile | undefined> {
    await this.jobs.get(number);
    let last = '';
    let isOver = false;
    return this.streams.answer(request, reply, 'record.read', async (events) => {
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
  }
}
