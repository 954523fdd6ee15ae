import { Injectable, Logger } from '@nestjs/common';
import { Database } from '../../../common/database/database.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { heldTransaction } from '../../../common/database/transaction.js';
import { Background } from '../../../common/work/background.js';

/** A draft that takes as long has its sums kept. [ms] */
const LONG_MS = 500;

/** From how many shifts without kept sums on it is worth while. */
const WORTH_SHIFTS = 50;

/** The first time, a drive of a million lines is measured whole. [ms] */
const MOST_MS = 600_000;

/** Measures them again at least as long after it failed. [ms] */
const PATIENCE_MS = 60_000;

/**
 * Keeps what a draft sums of each shift, once a draft has been read that had to measure many of them: the next one measures only what has
 * changed since. Which sums still stand is judged by report.draft_kept_of when they are read, so nothing hangs on when this runs, or whether.
 */
@Injectable()
export class DraftSums {
  private readonly log = new Logger(DraftSums.name);
  /** Drives at work, and those that failed a moment ago. */
  private readonly resting = new Set<number>();

  constructor(
    private readonly database: Database,
    private readonly background: Background,
  ) {}

  /** Reads a draft of a drive; where that takes long its sums are kept after it, and nobody waits for that. */
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
      return send('select report_kept.keep_draft_sums($1, $2)', driveId, WORTH_SHIFTS);
    });
  }
}
