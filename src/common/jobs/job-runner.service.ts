import { setTimeout as pause } from 'node:timers/promises';
import { Injectable, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import { ProblemError } from '../api/problem.js';
import { Config } from '../config/config.js';
import { Database } from '../database/database.js';
import { inScope, type Scope } from '../database/scope.js';
import { Background } from '../work/background.js';
import { JobKinds } from './job-kinds.js';
import { JobResults } from './job-results.js';

/** Polling interval of an idle instance; a job created on the instance itself starts at once. [ms] */
const LOOK_MS = 5000;

/** Interval at which progress is recorded and a cancellation noticed. [ms] */
const RENEW_MS = 1000;

/** Without a renewal for this long, another instance takes the job over. [s] */
const LEASE_S = 30;

/** Most attempts at a job whose instance dies. */
const MOST_ATTEMPTS = 3;

/** Number of results of a kind kept per project. */
const MOST_RESULTS = 3;

const SWEEP_MS = 3_600_000;

const HOUR_S = 3600;

interface Claimed {
  id: number;
  project_id: number;
  project: string;
  kind: string;
  input: Record<string, unknown>;
  asked_by: string;
  attempt: number;
}

/** How far a job has come. */
interface Now {
  percent: number;
  step: string;
  outcome?: object;
}

/** Why a job is stopped although the service continues. */
const GONE = new Error('The job was cancelled, or another instance has taken it up.');

/** Runs jobs, one at a time per instance. A lease in the database keeps two instances from doing the same work. */
@Injectable()
export class JobRunner implements OnApplicationBootstrap {
  private readonly log = new Logger(JobRunner.name);
  private wake: () => void = () => undefined;
  private isWoken = false;
  private sweptAt = -Infinity;
  private current?: { number: number; over: AbortController };

  constructor(
    private readonly config: Config,
    private readonly database: Database,
    private readonly background: Background,
    private readonly kinds: JobKinds,
    private readonly results: JobResults,
  ) {}

  onApplicationBootstrap(): void {
    const { jobs, databaseUrl } = this.config;
    if (jobs.isRunning && databaseUrl !== undefined) void this.background.run(() => this.work());
  }

  /** Looks for a job at once: one has been created. */
  look(): void {
    this.isWoken = true;
    this.wake();
  }

  /** Stops a cancelled job if this instance runs it; another instance notices within a second. */
  cancelled(number: number): void {
    if (this.current?.number === number) this.current.over.abort(GONE);
  }

  private async work(): Promise<void> {
    const { signal } = this.background;
    signal.addEventListener('abort', () => this.look());
    while (!signal.aborted) {
      this.isWoken = false;
      const ran = await this.runNext().catch((error: Error) => {
        if (!signal.aborted) this.log.warn(`No job is run for a moment: ${error.message}`);
        return false;
      });
      if (!ran) await this.rest();
    }
  }

  private async rest(): Promise<void> {
    if (this.isWoken || this.background.signal.aborted) return;
    const timer = setTimeout(() => this.wake(), LOOK_MS).unref();
    await new Promise<void>((resolve) => (this.wake = resolve));
    clearTimeout(timer);
  }

  /** @returns whether there was one */
  private async runNext(): Promise<boolean> {
    await this.sweep();
    const [job] = await this.database.ask<Claimed>('select * from claim_job($1::text[], $2, $3, $4)', [
      this.kinds.names,
      LEASE_S,
      MOST_ATTEMPTS,
      this.keptS,
    ]);
    if (!job) return false;
    await this.run(job);
    return true;
  }

  private get keptS(): number {
    return this.config.jobs.keptHours * HOUR_S;
  }

  private async run(job: Claimed): Promise<void> {
    const { id, attempt, kind, project, project_id: projectId } = job;
    const over = new AbortController();
    const end = (): void => over.abort(this.background.signal.reason);
    this.background.signal.addEventListener('abort', end);
    this.current = { number: id, over };
    let [percent, step] = [0, ''];
    let outcome: object | undefined;
    const { upload, reason } = job.input as { upload?: string; reason?: string };
    const now = (): Now => ({ percent, step, outcome });
    const renewing = this.renew(job, over, now);
    const scope: Scope = { projectId, project, actor: job.asked_by, credential: 'job', reason };
    try {
      const file = await inScope(scope, () =>
        this.kinds.get(kind)?.run(
          {
            number: id,
            scope,
            input: job.input,
            upload: upload === undefined ? undefined : this.results.path(projectId, upload),
            place: (extension) => this.results.place(projectId, `${id}-${attempt}.${extension}`),
          },
          (reached, what, soFar) => {
            percent = Math.min(100, Math.max(0, Math.floor(reached)));
            step = what;
            outcome = soFar ?? outcome;
          },
          over.signal,
        ),
      );
      over.signal.throwIfAborted();
      await this.noteLast(job, now());
      const measured = file && (await this.results.measured(file.path));
      const name = file && file.path.slice(file.path.lastIndexOf(`${id}-${attempt}.`));
      await this.settle(job, null, name, file?.name, file?.mediaType, measured?.bytes, measured?.sha256);
    } catch (error) {
      if (this.background.signal.aborted)
        await this.database.ask('select release_job($1, $2)', [id, attempt]);
      else if (!over.signal.aborted) {
        await this.noteLast(job, now());
        await this.settle(job, this.wordsOf(job, error as Error));
      }
    } finally {
      this.background.signal.removeEventListener('abort', end);
      over.abort(GONE);
      this.current = undefined;
      await renewing;
    }
  }

  /** Renews the lease while the job runs; stops the job if the lease was lost or the job cancelled. */
  private async renew(job: Claimed, over: AbortController, now: () => Now): Promise<void> {
    const { signal } = over;
    let noted: object | undefined;
    while (!signal.aborted) {
      await pause(RENEW_MS, undefined, { signal, ref: false }).catch(() => undefined);
      if (signal.aborted) return;
      const { outcome } = now();
      if (outcome !== noted) await this.note(job, (noted = outcome)).catch(() => undefined);
      const isHeld = await this.renewed(job, now()).catch(() => undefined); // if this keeps failing, the lease expires
      if (isHeld === false) over.abort(GONE);
    }
  }

  private async renewed({ id, attempt }: Claimed, { percent, step }: Now): Promise<boolean | undefined> {
    const [renewed] = await this.database.ask<{ held: boolean }>(
      'select renew_job($1, $2, $3, $4, $5) as held',
      [id, attempt, percent, step, LEASE_S],
    );
    return renewed?.held;
  }

  /** Records how far the job came before it ends. */
  private async noteLast(job: Claimed, now: Now): Promise<void> {
    await this.note(job, now.outcome);
    if (now.step !== '') await this.renewed(job, now);
  }

  private async note({ id, attempt }: Claimed, outcome: object | undefined): Promise<void> {
    if (outcome)
      await this.database.ask('select note_job($1, $2, $3::jsonb)', [id, attempt, JSON.stringify(outcome)]);
  }

  private async settle(
    { id, attempt, project_id: projectId, input }: Claimed,
    problem: string | null,
    ...file: (string | number | undefined)[]
  ): Promise<void> {
    const [name, saved, type, bytes, sha256] = file;
    const [settled] = await this.database.ask<{ held: boolean }>(
      'select settle_job($1, $2, $3, $4, $5, $6, $7, $8, $9) as held',
      [
        id,
        attempt,
        problem,
        name ?? null,
        saved ?? null,
        type ?? null,
        bytes ?? null,
        sha256 ?? null,
        this.keptS,
      ],
    );
    const { upload } = input as { upload?: string };
    if (settled?.held === true && upload !== undefined) await this.results.remove(projectId, upload);
    this.sweptAt = -Infinity; // makes the next sweep remove the oldest result of its kind
    if (settled?.held !== true && name !== undefined)
      this.log.warn(
        `Job ${id} of project ${projectId} ended after it was cancelled or taken up by another instance.`,
      );
  }

  /** The reason for a failure, as reported to the requester. */
  private wordsOf({ id, kind }: Claimed, error: Error): string {
    if (error instanceof ProblemError) return error.message;
    this.log.error({ err: error, job: id, kind }, `job ${id} failed`);
    return `It failed inside the service; the log has the reason under job ${id}.`;
  }

  private async sweep(): Promise<void> {
    if (performance.now() - this.sweptAt < SWEEP_MS) return;
    this.sweptAt = performance.now();
    const kept = await this.database.ask<{ project_id: number; result_file: string }>(
      'select * from sweep_jobs($1)',
      [MOST_RESULTS],
    );
    await this.results.sweep(new Set(kept.map((each) => `${each.project_id}/${each.result_file}`)));
  }
}
