import { Injectable, Logger } from '@nestjs/common';
import { Database } from '../../../common/database/database.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { heldTransaction } from '../../../common/database/transaction.js';
import { Background } from '../../../common/work/background.js';

/** The sums of a draft that takes at least this long are cached. [ms] */
const LONG_MS = 500;

/** Number of shifts without cached sums from which caching is worthwhile. */
const MIN_SHIFTS = 50;

/** Time limit: at first, a drive of a million lines is measured completely. [ms] */
const MOST_MS = 600_000;

/** Minimum delay before a retry after a failure. [ms] */
const PATIENCE_MS = 60_000;

/**
 * Caches the sums that a draft adds up per shift, after reading a draft that had to measure many of them: the next draft then
 * measures only what has changed. report.draft_kept_of decides on reading which sums are still valid, so correctness does not depend
 * on when this runs, or whether.
 */
@Injectable()
export class DraftSums {
  private readonly log = new Logger(DraftSums.name);
  /** Drives being worked on, and those that failed recently. */
  private readonly resting = new Set<number>();

  constructor(
    private readonly database: Database,
    private readonly background: Background,
  ) {}

  /** Reads a draft of a drive; if that takes long, its sums are cached afterwards, without delaying the answer. */
  async over<T>(driveId: number, read: () => Promise<T>): Promise<T> {
    const begun = performance.now();
    const draft = await read();
    if (performance.now() - begun >= LONG_MS) this.keepSoon(driveId);
    return draft;
  }

  private keepSoon(driveId: number): void {
    const own = scope();
    if (own.asOf || heldTransaction() || this.resting.has(driveId)) return;
    this.resting.add(driveId);
    const load = { cost: own.load?.cost ?? 1, gone: this.background.signal };
    const work = this.background.run(() =>
      inScope({ ...own, readings: undefined, load }, () => this.keep(driveId)),
    );
    void work.then(
      () => this.resting.delete(driveId),
      (error: Error) => {
        this.log.warn(`the sums of drive ${driveId} were not kept: ${error.message}`);
        setTimeout(() => this.resting.delete(driveId), PATIENCE_MS).unref();
      },
    );
  }

  private async keep(driveId: number): Promise<void> {
    await this.database.keeping(async (send) => {
      await send(`select set_config('statement_timeout', '${MOST_MS}', true)`);
      return send('select report_kept.keep_draft_sums($1, $2)', driveId, MIN_SHIFTS);
    });
  }
}
