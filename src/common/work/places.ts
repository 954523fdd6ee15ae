import { ProblemError } from '../api/problem.js';
import { hasGone } from '../database/admission.js';

/** A bounded number of pieces of work at once, and a bounded number that wait, in the order in which they came. */
export class Places {
  private taken = 0;
  private readonly waiting = new Set<() => void>();

  /** @param what  that is waiting, in words, as "drawings" */
  constructor(
    private readonly what: string,
    private readonly mostAtOnce: number,
    private readonly mostWaiting: number,
  ) {}

  /**
   * Does the work once there is a place for it; not at all when its sender has gone by then.
   * @param gone  aborted when nobody waits for the result any more
   * @throws ProblemError unavailable when too many wait, or the sender has gone
   */
  async run<T>(work: () => Promise<T>, gone?: AbortSignal): Promise<T> {
    await this.enter(gone);
    try {
      return await work();
    } finally {
      this.leave();
    }
  }

  private async enter(gone: AbortSignal | undefined): Promise<void> {
    if (gone?.aborted) throw hasGone();
    if (this.taken < this.mostAtOnce) {
      this.taken += 1;
      return;
    }
    if (this.waiting.size >= this.mostWaiting)
      throw new ProblemError(
        'unavailable',
        `${this.mostWaiting} ${this.what} are waiting already. Try again.`,
      );
    await new Promise<void>((resolve, reject) => {
      const giveUp = (): void => {
        this.waiting.delete(enter);
        reject(hasGone());
      };
      // it is given the place of one that ends
      const enter = (): void => {
        gone?.removeEventListener('abort', giveUp);
        resolve();
      };
      this.waiting.add(enter);
      gone?.addEventListener('abort', giveUp, { once: true });
    });
  }

  private leave(): void {
    const [next] = this.waiting;
    if (next) {
      this.waiting.delete(next);
      next();
    } else this.taken -= 1;
  }
}
