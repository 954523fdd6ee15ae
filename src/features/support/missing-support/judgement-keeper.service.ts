import { setTimeout as wait } from 'node:timers/promises';
import { Injectable, Logger } from '@nestjs/common';
import { Config } from '../../../common/config/config.js';
import { Database } from '../../../common/database/database.js';
import { inScope, type Scope, scope } from '../../../common/database/scope.js';
import { Background } from '../../../common/work/background.js';
import { ChangeFeed } from '../../watch/live/change-feed.service.js';

/**
 * Schema of the functions to use: '' computes from the record, 'report_kept.' reads cached results, 'report_since.' reads those that are still
 * valid, up to a place, and computes from there.
 */
export type Judged = '' | 'report_kept.' | 'report_since.';

/** Reads results that depend on the assessment of a drive's support, as `JudgementKeeper.over` does. */
export type OverJudgement = <T>(
  driveId: number,
  judged: Judged,
  read: (judged: Judged) => Promise<T>,
) => Promise<T>;

/** A value made for each of them. */
export const eachJudged = <Made>(make: (judged: Judged) => Made): Record<Judged, Made> => ({
  '': make(''),
  'report_kept.': make('report_kept.'),
  'report_since.': make('report_since.'),
});

/** Delay after a change, so that changes in quick succession, such as the shifts of an import, are assessed together. [ms] */
const SETTLE_MS = 1000;

/** Assessment takes at most a tenth of the time, however fast changes follow. */
const PAUSES = 9;

/** Retry delay while another drive is being assessed, by any instance. [ms] */
const BUSY_MS = 2000;

/** Longest delay before drives that are due earlier than the next one are noticed. [ms] */
const LOOK_MS = 250;

/** A drive that nobody has read for this long is assessed only on request. [ms] */
const FORGOTTEN_MS = 7 * 24 * 3_600_000;

/** Result for a drive that no longer exists. */
const GONE = -1;

interface KeptDrive {
  id: number;
  scope: Scope;
  askedAt: number;
  /** Earliest time, by `performance.now()`. */
  notBefore: number;
  /** Whether an assessment is due; another change sets it again. */
  isDue: boolean;
  leave: () => void;
}

/**
 * Caches the assessment of drives whose support takes long to assess: from the first reading on, and again after each change, so
 * that the next reading finds it. One at a time in the whole database, in a separate transaction; no reading waits for it.
 */
@Injectable()
export class JudgementKeeper {
  private readonly log = new Logger(JudgementKeeper.name);
  private readonly drives = new Map<number, KeptDrive>();
  private work: Promise<void> | undefined;

  constructor(
    private readonly database: Database,
    private readonly feed: ChangeFeed,
    private readonly config: Config,
    private readonly background: Background,
  ) {}

  /** Reads results that depend on the assessment of a drive, from the cache as far as it is valid. */
  async over<T>(driveId: number, judged: Judged, read: (judged: Judged) => Promise<T>): Promise<T> {
    const begun = performance.now();
    try {
      return await read(judged);
    } finally {
      // also if it was cancelled because it took too long
      if (!scope().asOf) this.asked(driveId, judged, performance.now() - begun);
    }
  }

  private asked(id: number, judged: Judged, tookMs: number): void {
    if (this.background.signal.aborted) return;
    const known = this.drives.get(id);
    if (known) known.askedAt = performance.now();
    else if (judged === '' && tookMs < this.config.judgementKeptFromMs) return;
    const drive = known ?? this.follow(id);
    if (judged !== 'report_kept.') this.due(drive);
  }

  private follow(id: number): KeptDrive {
    const { projectId, project } = scope();
    const now = performance.now();
    const drive: KeptDrive = {
      id,
      scope: {
        projectId,
        project,
        actor: 'drivebook',
        credential: 'service',
        load: { cost: 1, gone: this.background.signal },
      },
      askedAt: now,
      notBefore: now,
      isDue: false,
      leave: this.feed.listen(projectId, () => this.changed(drive)),
    };
    this.drives.set(id, drive);
    return drive;
  }

  private changed(drive: KeptDrive): void {
    const now = performance.now();
    if (now - drive.askedAt > FORGOTTEN_MS) return this.forget(drive);
    if (!drive.isDue) drive.notBefore = Math.max(drive.notBefore, now + SETTLE_MS);
    this.due(drive);
  }

  private forget(drive: KeptDrive): void {
    drive.leave();
    this.drives.delete(drive.id);
  }

  private due(drive: KeptDrive): void {
    drive.isDue = true;
    this.start();
  }

  private start(): void {
    this.work ??= this.background
      .run(() => this.judgeAll())
      .finally(() => {
        this.work = undefined;
        if (!this.background.signal.aborted && [...this.drives.values()].some(({ isDue }) => isDue))
          this.start();
      });
  }

  /** Assesses one drive after another until none is due. */
  private async judgeAll(): Promise<void> {
    for (;;) {
      const [next] = [...this.drives.values()]
        .filter(({ isDue }) => isDue)
        .sort((a, b) => a.notBefore - b.notBefore);
      if (!next) return;
      const { signal } = this.background;
      const before = next.notBefore - performance.now();
      if (before > 0)
        await wait(Math.min(before, LOOK_MS), undefined, { signal, ref: false }).catch(() => undefined);
      if (signal.aborted) return;
      if (next.notBefore <= performance.now()) await this.judge(next);
    }
  }

  private async judge(drive: KeptDrive): Promise<void> {
    drive.isDue = false;
    const begun = performance.now();
    try {
      const tookMs = await inScope(drive.scope, () => this.keep(drive.id));
      if (tookMs === GONE) return this.forget(drive);
      if (tookMs === null) this.again(drive, BUSY_MS);
      else drive.notBefore = performance.now() + tookMs * PAUSES;
    } catch (error) {
      // meanwhile readings compute their own assessment
      if (this.background.signal.aborted) return;
      this.log.warn(`The support of a drive was not judged ahead: ${(error as Error).message}`);
      this.again(drive, Math.max(BUSY_MS, (performance.now() - begun) * PAUSES));
    }
  }

  private again(drive: KeptDrive, inMs: number): void {
    const now = performance.now();
    if (now - drive.askedAt > FORGOTTEN_MS) return this.forget(drive);
    drive.isDue = true;
    drive.notBefore = now + inMs;
  }

  /** The duration; 0: the cache is still valid; null: another drive is being assessed; GONE. [ms] */
  private async keep(id: number): Promise<number | null> {
    const { rows } = await this.database.keeping((send) =>
      send('select report_kept.keep_judgement($1) as took', id),
    );
    return (rows[0] as { took: number | null }).took;
  }
}
