import { AsyncLocalStorage } from 'node:async_hooks';
import { setMaxListeners } from 'node:events';
import { setTimeout as pause } from 'node:timers/promises';
import { type BeforeApplicationShutdown, Injectable } from '@nestjs/common';

/** What does not end by being called off is left to the end of its connection. [ms] */
const END_MS = 3000;

/**
 * Work that belongs to no request, and that the service can do without. It ends before the service does: what has not
 * begun is not begun, and what is under way is called off by the signal.
 */
@Injectable()
export class Background implements BeforeApplicationShutdown {
  private readonly stopped = new AbortController();
  private readonly underWay = new Set<Promise<void>>();
  /** No scope or transaction of the request that asked for it. */
  private readonly outside = AsyncLocalStorage.snapshot();

  constructor() {
    setMaxListeners(0, this.signal);
  }

  /** Aborted when the service ends. */
  get signal(): AbortSignal {
    return this.stopped.signal;
  }

  /** Does the work. @returns its end; a failure is passed on, unless it comes of the service's end */
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
