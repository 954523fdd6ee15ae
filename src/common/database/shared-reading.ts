import { setImmediate } from 'node:timers/promises';
import type pg from 'pg';
import { hasGone } from './admission.js';
import { type Asked, ReadingMessages } from './reading-messages.js';
import type { Load, Scope } from './scope.js';
import type { StatementLimits } from './session.js';

/** Serves over its own connection; calls back when something has been read over it. */
export type Serve = (client: pg.PoolClient, begun: () => void) => Promise<void>;

/** Lends a connection to a scope, as soon as it is its turn. */
export interface Lender {
  limits?: StatementLimits;
  lend(scope: Scope, serve: Serve): Promise<void>;
}

/**
 * The readings of one operation: one transaction, so one state of the record, and one message for all that is asked in a
 * turn of the event loop, whatever the number of drives and projects. It begins with the first reading.
 */
export class SharedReading {
  private readonly asked: Asked[] = [];
  /** Those that are under way. */
  private taken: Asked[] = [];
  private transaction?: Promise<void>;
  private failure?: { error: unknown };
  private isEnding = false;
  private isOver = false;
  private readonly answers = new Map<string, Promise<pg.QueryResult>>();
  private wake = (): void => undefined;

  /** @param load  what all of it asks of the database: one statement at a time, so as much as the heaviest of it */
  constructor(private readonly load: Load = { cost: 0 }) {}

  /** @param run  answers it otherwise than as a statement with rows */
  send(
    lender: Lender,
    scope: Scope,
    sql: string,
    values: unknown[],
    run?: Asked['run'],
  ): Promise<pg.QueryResult> {
    if (this.isOver) return Promise.reject(hasGone());
    if (this.failure) return Promise.reject(this.failure.error as Error);
    return new Promise((resolve, reject) => {
      this.asked.push({ scope, sql, values, run, resolve, reject });
      this.transaction ??= this.begin(lender, scope);
      this.wake();
    });
  }

  /** The same of what several readings ask alike: it is asked once. */
  sendOnce(lender: Lender, scope: Scope, sql: string): Promise<pg.QueryResult> {
    const key = JSON.stringify([scope.projectId, scope.asOf, sql]);
    const answer = this.answers.get(key) ?? this.send(lender, scope, sql, []);
    this.answers.set(key, answer);
    return answer;
  }

  /** Before a write: what is read after it is to see it, over its own transaction. */
  async pause(): Promise<void> {
    this.answers.clear();
    this.isEnding = true;
    this.wake();
    await this.transaction;
    this.isEnding = false;
    this.failure = undefined;
  }

  /** Nobody waits for what is asked from now on. Settles when the connection is given back, unless it is at work. */
  async end(): Promise<void> {
    this.isOver = true;
    this.isEnding = true;
    this.wake();
    if (this.taken.length === 0) await this.transaction;
  }

  private async begin(lender: Lender, scope: Scope): Promise<void> {
    try {
      await lender.lend({ ...scope, load: this.load }, (client, begun) =>
        this.serve(new ReadingMessages(client, lender.limits, this.load.gone), begun),
      );
    } catch (error) {
      this.failure = { error };
      for (const { reject } of [...this.taken, ...this.asked.splice(0)]) reject(error);
      this.taken = [];
    }
    // what was asked while the connection was given back has nobody who serves it
    const [late] = this.asked;
    this.transaction = late && this.begin(lender, late.scope);
  }

  /** Over a second connection it goes on with what the first one, broken while it was idle, has not answered. */
  private async serve(messages: ReadingMessages, begun: () => void): Promise<void> {
    for (;;) {
      if (this.taken.length === 0) this.taken = await this.next();
      if (this.taken.length === 0) return;
      if (this.load.gone?.aborted) throw hasGone();
      await messages.answer(this.taken);
      this.taken = [];
      begun();
    }
  }

  /** All that is asked until the event loop turns; nothing when it ends. */
  private async next(): Promise<Asked[]> {
    while (this.asked.length === 0) {
      if (this.isEnding) return [];
      await new Promise<void>((wake) => (this.wake = wake));
    }
    await setImmediate();
    return this.asked.splice(0);
  }
}
