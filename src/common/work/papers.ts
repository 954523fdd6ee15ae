import { Injectable } from '@nestjs/common';
import { scope } from '../database/scope.js';
import type { Job } from './job.js';
import { Places } from './places.js';
import { Workers } from './workers.js';

/** Papers drawn at a time, so that uploads and charts find room in the threads, and how many may wait with their data. */
const MOST_AT_ONCE = 1;
const MOST_WAITING = 30;

/** Draws papers in the threads: a page takes some 20 ms, and fonts are loaded for each paper. */
@Injectable()
export class Papers {
  private readonly places = new Places('papers', MOST_AT_ONCE, MOST_WAITING);

  constructor(private readonly workers: Workers) {}

  /**
   * Draws nothing if the sender has disconnected by then.
   * @param gone  aborted then; must be given outside of a project, which has no scope
   * @throws ProblemError unavailable when too many are waiting
   */
  async draw<Input>(job: Job<Input, Uint8Array>, input: Input, gone = scope().load?.gone): Promise<Buffer> {
    return Buffer.from(await this.places.run(() => this.workers.run(job, input), gone));
  }
}
