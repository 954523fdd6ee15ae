import { Injectable } from '@nestjs/common';
import { scope } from '../database/scope.js';
import type { Job } from './job.js';
import { Places } from './places.js';
import { Workers } from './workers.js';

/** In the threads at once, so that uploads and charts find room there, and how many may wait with their records. */
const MOST_AT_ONCE = 1;
const MOST_WAITING = 30;

/** Draws papers, in the threads: a page takes some 20 ms, and fonts are read for each paper. */
@Injectable()
export class Papers {
  private readonly places = new Places('papers', MOST_AT_ONCE, MOST_WAITING);

  constructor(private readonly workers: Workers) {}

  /** Nothing is drawn for a sender that has gone by then. @throws ProblemError unavailable when too many wait */
  async draw<Input>(job: Job<Input, Uint8Array>, input: Input): Promise<Buffer> {
    return Buffer.from(await this.places.run(() => this.workers.run(job, input), scope().load?.gone));
  }
}
