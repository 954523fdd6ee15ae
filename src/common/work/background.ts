import { AsyncLocalStorage } from 'node:async_hooks';
import { setMaxListeners } from 'node:events';
import { setTimeout as pause } from 'node:timers/promises';
import { type BeforeApplicationShutdown, Injectable } from '@nestjs/common';

/** Time for cancelled work to end; after that, closing its connection ends it. [ms] */
const END_MS = 3000;

/**
 * Work outside any request, which the service can do without. It ends before the service does: work not yet begun is dropped, and
 * work in progress is cancelled by the signal.
 */
@Injectable()
export class Background implements BeforeApplicationShutdown {
  private readonly stopped = new AbortController();
  private readonly underWay = new Set<Promise<void>>();
  /** Runs outside the scope and transaction of the request that started it. */
  private readonly outside = AsyncLocalStorage.snapshot();

  constructor() {
    setMaxListeners(0, this.signal);
  }

  /** Aborted when the service ends. */
  get signal(): AbortSignal {
    return this.stopped.signal;
  }

  /** Runs the work. @returns when it ends; a failure is passed on, unless it results from the service's shutdown */
  async run(work: () => Promise<void>): Promise<void> {
    if (this.signal.aborted) return;
    const done = this.outside(work).catch((error: unknown) => {
      if (!this.signal.aborted) throw error;
    });
    this.underWay.add(done);
    try {
      await done;
    } finally {
      this.underWay.delete(done);
    }
  }

  async beforeApplicationShutdown(): Promise<void> {
    this.stopped.abort();
    await Promise.race([Promise.allSettled(this.underWay), pause(END_MS, undefined, { ref: false })]);
  }
}
