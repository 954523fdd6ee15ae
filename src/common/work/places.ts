import { ProblemError } from '../api/problem.js';
import { hasGone } from '../database/admission.js';

/** A limit on concurrent work, with a bounded first-come queue. */
export class Places {
  private taken = 0;
  private readonly waiting = new Set<() => void>();

  /** @param what  is queued, in words, such as "drawings" */
  constructor(
    private readonly what: string,
    private readonly mostAtOnce: number,
    private readonly mostWaiting: number,
  ) {}

  /**
   * Runs the work once there is a place for it, or not at all if its sender has disconnected by then.
   * @param gone  aborted when nobody is waiting for the result any more
   * @throws ProblemError unavailable when too many are waiting, or the sender has disconnected
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
      // takes over the place of work that has ended
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
