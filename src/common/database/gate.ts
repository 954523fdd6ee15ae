import type pg from 'pg';
import type { Admission } from './admission.js';
import type { ControlConnection } from './control-connection.js';
import type { Scope } from './scope.js';
import { sqlStateOf } from './sql-error.js';

/** Subjects of API keys are unique within a project only; their credential is unique everywhere. */
const callerOf = ({ actor, credential }: Scope): string =>
  credential.startsWith('key ') ? credential : actor;

/** Between the requests and the pool: admits work, and cancels it when its sender has disconnected. */
export class Gate {
  /** Failed statements by class of SQLSTATE (its first two characters). */
  readonly failures = new Map<string, number>();

  constructor(
    readonly admission: Admission,
    private readonly control: Pick<ControlConnection, 'cancel'>,
  ) {}

  /** Runs the work of a scope when its turn comes. @throws ProblemError unavailable when it does not come in time */
  async through<T>(scope: Scope, work: () => Promise<T>): Promise<T> {
    const { cost = 0, gone } = scope.load ?? {};
    const leave = await this.admission.enter({
      caller: callerOf(scope),
      project: String(scope.projectId),
      cost,
      gone,
    });
    try {
      return await work();
    } catch (error) {
      this.count(error);
      throw error;
    } finally {
      leave();
    }
  }

  /** Counts a failed statement. */
  count(error: unknown): void {
    const state = sqlStateOf(error)?.slice(0, 2);
    if (state !== undefined) this.failures.set(state, (this.failures.get(state) ?? 0) + 1);
  }

  /** Cancels the statement running on a connection. */
  cancel(client: pg.PoolClient): Promise<void> {
    return this.control.cancel((client as pg.PoolClient & { processID: number }).processID);
  }

  /**
   * Cancels the statement running on a connection as soon as the sender disconnects. For readings only: a COMMIT is never cancelled.
   * @returns stops watching; await it before the connection is lent again, or a late cancel would hit another caller's work
   */
  watch(client: pg.PoolClient, gone?: AbortSignal): () => Promise<void> {
    if (!gone) return () => Promise.resolve();
    let cancelling: Promise<void> | undefined;
    const cancel = (): void => {
      cancelling = this.cancel(client);
    };
    gone.throwIfAborted();
    gone.addEventListener('abort', cancel, { once: true });
    return async () => {
      gone.removeEventListener('abort', cancel);
      await cancelling;
    };
  }
}
