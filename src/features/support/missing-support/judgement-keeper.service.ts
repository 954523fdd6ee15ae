import { setTimeout as wait } from 'node:timers/promises';
import { Injectable, Logger } from '@nestjs/common';
import { Config } from '../../../common/config/config.js';
import { Database } from '../../../common/database/database.js';
import { inScope, type Scope, scope } from '../../../common/database/scope.js';
import { Background } from '../../../common/work/background.js';
import { ChangeFeed } from '../../watch/live/change-feed.service.js';

/** Where the functions stand that a reading asks: over what is kept, or over the record. */
export type Judged = '' | 'report_kept.';

/** Reads what rests on the judgement of a drive's support, as `JudgementKeeper.over` does. */
export type OverJudgement = <T>(
  driveId: number,
  isKept: boolean,
  read: (judged: Judged) => Promise<T>,
) => Promise<T>;

/** What is made for each of the two. */
export const eachJudged = <Made>(make: (judged: Judged) => Made): Record<Judged, Made> => ({
  '': make(''),
  'report_kept.': make('report_kept.'),
});

/** After a change: what follows it at once, as the shifts of an import do, is judged with it. [ms] */
const SETTLE_MS = 1000;

/** Judging takes no more than a tenth of the time, however fast changes follow. */
const PAUSES = 9;

/** Another drive is being judged, by this instance or another: asked again then. [ms] */
const BUSY_MS = 2000;

/** How long one that must wait keeps others, that are due before it, from being seen. [ms] */
const LOOK_MS = 250;

/** What nobody has asked for that long is judged when somebody asks. [ms] */
const FORGOTTEN_MS = 7 * 24 * 3_600_000;

/** What the project has no drive by. */
const GONE = -1;

interface KeptDrive {
  id: number;
  scope: Scope;
  askedAt: number;
  /** Not before that time, by `performance.now()`. */
  notBefore: number;
  /** Whether it is to be judged; one that comes up meanwhile counts once more. */
  isDue: boolean;
  leave: () => void;
}

/**
 * Keeps the judgement of drives whose support takes long to judge: from the first reading on, and after each change, so that the reading after it
 * finds it again. One at a time in the whole database, in its own transaction; no reading waits for it.
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

  /** Reads what rests on the judgement of a drive: over what is kept where that stands, else over the record. */
  async over<T>(driveId: number, isKept: boolean, read: (judged: Judged) => Promise<T>): Promise<T> {
    const begun = performance.now();
    try {
      return await read(isKept ? 'report_kept.' : '');
    } finally {
      // also of one that was cancelled because it took too long
      if (!scope().asOf) this.asked(driveId, isKept, performance.now() - begun);
    }
  }

  private asked(id: number, isKept: boolean, tookMs: number): void {
    if (this.background.signal.aborted) return;
    const known = this.drives.get(id);
    if (known) known.askedAt = performance.now();
    else if (!isKept && tookMs < this.config.judgementKeptFromMs) return;
    const drive = known ?? this.follow(id);
    if (!isKept) this.due(drive);
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

  /** Drive by drive, until none is due. */
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
      // readings judge for themselves meanwhile
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

  /** How long it took; 0: what is kept stands; null: another is being judged; GONE. [ms] */
  private async keep(id: number): Promise<number | null> {
    const { rows } = await this.database.keeping((send) =>
      send('select report_kept.keep_judgement($1) as took', id),
    );
    return (rows[0] as { took: number | null }).took;
  }
}
